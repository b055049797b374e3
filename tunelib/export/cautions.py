"""What to mind, in the words that several printed pages share."""

CAUTIONS_TITLE = "Mind your ears and yourself"
LOW_VOLUME = "Start with the volume low, on loudspeakers and above all on headphones."
RINGING = "Stop if it hurts or your ears ring. Ringing that stays is a matter for a doctor or an audiologist."
REST_HANDS = "Rest hands and arms often. Strain or pain means stop; ask a teacher before you go on."
BREAKS = "Take a break every twenty minutes, and stop at once if anything hurts or tingles; pain means stop."
POSTURE = "Ask a teacher to look at your posture before you practise anything new for long."
