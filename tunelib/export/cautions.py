"""Cautions, in the words that lessons and printed pages share."""

CAUTIONS_TITLE = "Look after your ears and your body"
LOW_VOLUME = "Start with the volume low, especially on headphones."
RINGING = (
    "Stop if it hurts or if your ears ring. Ringing that does not go away is a matter for a doctor or an audiologist."
)
REST_HANDS = "Rest hands and arms often. Strain or pain means stop; ask a teacher before you go on."
BREAKS = "Take a break every twenty minutes. Stop at once if anything hurts or tingles."
POSTURE = "Ask a teacher to check your posture before you practise anything new for long."
