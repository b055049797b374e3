// The card of a question or an exercise in a page without Python; it does what card.py does. `data` is what told() says of
// either, and its style is the page's. `sounds` are the programs of what is to be heard first, in the order of their names.

import {part, renderSounding} from "../live/sounding.js";
import {checkAnswer} from "./answers.js";
import {begunWith, checkSteps} from "./playing.js";
import {dayOf} from "./progress.js";
import {PageModel} from "../show/page_panel.js";

const NOT_KEPT = "Your progress is not being kept: this browser does not allow it here. The lesson works without it.";

// Draw a card. `progress` is a Progress; `instrument` draws the keys of an answer that is played in an element, and
// returns their model. Without keys, the notes are written.
export function renderCard({data, el, progress, instrument, sounds = []}) {
  const {answer, step} = data, note = part("p", "card-note", {role: "status"});
  const response = part("div", "card-response", {role: "status", "aria-live": "polite"});
  const worked = cardButton("Worked answer", () => {
    say("Worked answer.", data.worked);
    open("worked");
  });
  const hint = cardButton("Hint", () => {
    say("Hint.", data.hint);
    worked.disabled = false;
    open("hint");
  });
  let last = "";  // an answer that is sent twice, by leaving the field and by the button, is one try

  const say = (opening, words) => response.replaceChildren(...cardParagraphs(words, opening));
  const keeps = step !== null && progress !== undefined;
  const open = what => {
    if (keeps) {
      progress.opened(step, what);
      tellIfUnkept();
    }
  };
  const tellIfUnkept = () => { if (!progress.kept) { note.textContent = NOT_KEPT; } };
  const reply = ({right, message, understood}, given) => {
    say(right ? "✓" : "", message);
    worked.disabled = false;
    if (keeps && understood && given !== "" && given !== last) {
      progress.tried(step, right);
      tellIfUnkept();
    }
    last = given;
  };
  const check = text => reply(checkAnswer(answer, text), text.trim());

  worked.disabled = true;
  el.classList.add("tunelib-card");
  el.replaceChildren(...cardParagraphs(data.prompt, data.title), note);
  if (keeps && progress.done(step).right) { note.textContent = `✓ Solved before, on ${dayOf(progress.done(step).right)}.`; }
  if (sounds.length) { el.append(soundsPlace(data.sounds, sounds)); }
  if (answer.kind === "played" && instrument) { el.append(...playedPlace(answer, instrument, reply, say)); }
  el.append(data.choices.length ? choicesPlace(data.choices, check) : entryPlace(answer, Boolean(instrument), check));
  if (data.worked) {
    const helps = part("div", "card-helps");
    helps.append(hint, worked);
    el.append(helps);
  }
  el.append(response);
}

function cardButton(words, act) {
  const button = part("button", "card-button", {type: "button"}, words);
  button.addEventListener("click", act);
  return button;
}

function cardParagraphs(words, opening = "") {
  return words.split("\n\n").map((paragraph, n) => {
    const made = part("p", "card-words", {}, paragraph);
    if (n === 0 && opening) { made.prepend(part("b", "card-opening", {}, opening), " "); }
    return made;
  });
}

// What is to be heard first: a row to hear it, with a button for each where there are several.
function soundsPlace(names, sounds) {
  const place = part("div", "card-sounds"), several = names.length > 1;
  const others = several ? Object.fromEntries(names.map((name, n) => [name, sounds[n]])) : {};
  const state = {title: "what is asked about", holds: true, follow: "", playing: false, program: sounds[0]};
  renderSounding({model: new PageModel({...state, others, chosen: several ? names[0] : ""}), el: place});
  return place;
}

function choicesPlace(choices, check) {
  const place = part("div", "card-choices", {role: "group", "aria-label": "Answers"});
  place.append(...choices.map(choice => cardButton(choice, () => check(choice))));
  return place;
}

function entryPlace({kind, form}, hasKeys, check) {
  const place = part("div", "card-entry"), words = kind === "played" && hasKeys ? "Or write it" : "Your answer";
  const label = part("label", "card-label", {}, words), entry = part("input", "card-field", {
    type: "text", placeholder: `for example ${form}`, autocomplete: "off", autocapitalize: "off", spellcheck: "false",
  });
  label.append(entry);
  entry.addEventListener("change", () => check(entry.value));
  entry.addEventListener("keydown", event => { if (event.key === "Enter") { check(entry.value); } });
  place.append(label, cardButton("Check", () => check(entry.value)));
  return place;
}

// The keys, and the button beside them: for notes that are held, to check them; for a sequence, which is checked as it is
// played, to begin again.
function playedPlace(answer, instrument, reply, say) {
  const place = part("div", "card-keys"), model = instrument(place);
  let before = model.get("held"), heard = [];
  const next = step => {
    heard.push(step);
    const begun = begunWith(answer, heard), said = checkSteps(answer, heard);
    if (begun || (heard.length === 1 && !said.right)) { say("", said.message); }  // the keys are to be tried: no try yet
    else { reply(said, heard.join(" ")); }
    if (!begun) { heard = []; }
  };
  model.on("change:held", () => {
    const held = model.get("held"), added = held.filter(step => !before.includes(step));
    before = held;
    if (answer.in_order) { added.forEach(next); }
    else if (added.length) { heard = held; }  // kept when it is let go: whoever reaches for the button lets go of the keys
  });
  const button = answer.in_order ? cardButton("Begin again", () => {
    heard = [];
    say("", "Begin with the first note.");
  }) : cardButton("Check what I play", () => reply(checkSteps(answer, heard), heard.join(" ")));
  return [place, button];
}
