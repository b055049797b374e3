// A place to give a take: recorded here, or chosen as a file. Python gets it in parts; nothing else does, and nothing is
// kept that nobody asks to keep.

import {Delivery, FileToHand, SamplesToHand} from "./delivery.js";
import {guard} from "./guard.js";
import {microphoneTrouble, theMicrophone} from "./microphone.js";
import {readProgram, thePlayer} from "./player.js";
import {part, volumeSlider} from "./sounding.js";

const INSTEAD = "or record with a phone or a recorder and choose the file";
const SOFTEST_DB = -40, LOUDEST_DB = -1, FLOOR_DB = -60;
const FALL_DB = 24;  // a second, of the level as it is shown
const NARROW = 560;  // pixels: a phone, or a page beside another
const JUDGED_SECONDS = 2;  // of level, before it is put into words
const HEADPHONES = "Wear headphones, at a low volume: from a loudspeaker the microphone would hear it too, and the report "
  + "would take it for your notes. It is never fed back: what the microphone hears is not played.";
const LEVEL_WORDS = {
  none: "No sound at all: is the microphone muted or switched off?",
  soft: "Very soft: come closer, or turn the input up.",
  right: "The level is right.",
  loud: "Too loud: move away, or turn the input down.",
};

const decibels = peak => peak > 0 ? 20 * Math.log10(peak) : -Infinity;

function recorderButton(name, words) { return part("button", name, {type: "button"}, words); }

function clockWords(seconds) {
  return `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
}

function sizeWords(bytes) { return bytes < 1e6 ? `${Math.ceil(bytes / 1e3)} kB` : `${Math.ceil(bytes / 1e6)} MB`; }

// How loud it is: a bar, and words that change only when they have been true for a while. What is heard is told with the
// next picture, both together.
class LevelMeter {
  constructor() {
    this.bar = part("div", "level", {
      role: "meter", "aria-label": "Level of the microphone", "aria-valuemin": FLOOR_DB, "aria-valuemax": 0,
    });
    this.words = part("span", "level-words", {"aria-live": "polite"});
    this.rest();
  }

  rest() {
    this.shown = FLOOR_DB;
    this.verdict = "";
    this.judged = this.highest = 0;  // seconds since the last verdict, and the highest sample since then
    this.draw();
  }

  hear(samples, rate) {
    let peak = 0;
    for (const sample of samples) { peak = Math.max(peak, Math.abs(sample)); }
    const seconds = samples.length / rate;
    this.shown = Math.max(FLOOR_DB, decibels(peak), this.shown - FALL_DB * seconds);
    this.highest = Math.max(this.highest, peak);
    this.judged += seconds;
    if (decibels(peak) > LOUDEST_DB || this.judged > JUDGED_SECONDS) { this.judge(); }
  }

  judge() {
    const level = decibels(this.highest);
    this.verdict = level === -Infinity ? "none" : level < SOFTEST_DB ? "soft" : level > LOUDEST_DB ? "loud" : "right";
    this.judged = this.highest = 0;
  }

  draw() {
    this.bar.style.setProperty("--level", (this.shown - FLOOR_DB) / -FLOOR_DB);
    const value = String(Math.round(Math.min(0, this.shown))), words = LEVEL_WORDS[this.verdict] ?? "";
    this.bar.setAttribute("aria-valuenow", value);
    this.bar.setAttribute("aria-valuetext", `${value.replace("-", "−")} decibels of full scale`);
    if (this.words.textContent !== words) { this.words.textContent = words; }
  }
}

export function renderRecorder({model, el}) {
  const microphone = theMicrophone(), player = thePlayer(), meter = new LevelMeter();
  const box = part("div", "recorder", {
    role: "group", "aria-label": model.get("title"), tabindex: -1,
  });
  const row = part("div", "recorder-row"), choice = part("div", "recorder-row"), saving = part("form", "recorder-row");
  const level = part("div", "recorder-row"), clock = part("span", "recorder-clock");
  const words = part("p", "recorder-words", {role: "status"}), hint = part("div", "recorder-hint");
  const record = recorderButton("record", "Record"), choose = recorderButton("choose", "Choose a file");
  const save = recorderButton("save", "Save the take"), rescue = recorderButton("rescue", "Save it from the page");
  const use = recorderButton("use", "Use the new take"), leave = recorderButton("leave", "Keep the earlier one");
  const file = part("input", "file", {type: "file", accept: model.get("accept"), tabindex: -1, "aria-hidden": true});
  const place = part("input", "save-name", {type: "text", "aria-label": "Name of the file: .wav or .flac"});
  const [volume, endVolume] = volumeSlider(player);
  let state = "idle";  // or "opening", "counting", "recording"
  let samples, delivery, starting, drawing;
  let rate = 0, warnings = [], ended = "";  // why a take came to its end, if not by the learner's hand

  const aid = (name, label) => {
    const box = part("input", name, {type: "checkbox"}), held = part("label", "aid");
    held.append(box, label);
    box.addEventListener("change", () => show());
    return [box, held];
  };
  const [count, countLabel] = aid("count", "Count-in"), [drone, droneLabel] = aid("drone", "Drone");

  const say = text => {
    const whole = `${ended} ${text}`.trim();
    if (words.textContent !== whole) { words.textContent = whole; }
  };
  const still = () => model.get("current") ? ` The report is still of ${model.get("current")}.` : "";
  const tell = message => { try { model.send(message); } catch { /* the words on the page say what they say all the same */ } };

  const show = () => {
    const busy = state !== "idle", asked = model.get("offered") !== "";
    record.textContent = busy ? "Stop" : "Record";
    box.classList.toggle("tunelib-records", state === "recording");
    record.disabled = !busy && (asked || delivery !== undefined);
    choose.disabled = busy || asked || (delivery !== undefined && delivery.source instanceof SamplesToHand);
    choice.hidden = !asked;
    save.hidden = !model.get("unsaved") || busy || asked || !saving.hidden;
    rescue.hidden = !(delivery?.stuck && samples?.length);
    countLabel.hidden = !model.get("count_in").byteLength;
    droneLabel.hidden = !model.get("drone").byteLength;
    droneLabel.lastChild.textContent = `Drone on ${model.get("drone_name")}`;
    for (const [box, label] of [[count, countLabel], [drone, droneLabel]]) { box.disabled = busy || label.hidden; }
    hint.hidden = !(wants(count) || wants(drone));
    level.hidden = !["counting", "recording"].includes(state);
    words.hidden = !level.hidden && !words.textContent;
    keepFocus();
  };
  // A button that goes away, or cannot be pressed for a while, would leave the keyboard to the notebook.
  const keepFocus = () => {
    const standing = document.activeElement, lost = standing?.disabled || !standing?.checkVisibility();
    if (box.contains(standing) && (standing === box || lost)) { (record.disabled ? box : record).focus(); }
  };
  const wants = box => box.checked && !box.parentElement.hidden;

  // Python is handed something: how that goes, in words.
  const hand = (source, what) => {
    delivery?.drop();
    const mine = delivery = new Delivery(model, source, what, news => {
      if (delivery !== mine) { return; }
      if (news.whole || news.failed) { delivery = undefined; }
      if (news.whole) { samples = undefined; }
      if (news.failed) {
        tell({away: what.name});
        say(`${what.name} cannot be read any more: it was moved or changed. Choose it again.${still()}`);
      } else if (!news.whole && state === "idle") {
        const rescued = what.rate && mine.stuck ? " Save what you recorded from the page first." : "";
        const share = `${Math.floor(100 * news.share)} %`;
        say(`${news.trouble || `On its way to Python: ${what.name}, ${share}.`}${rescued}${still()}`);
      }
      show();
    });
  };

  const begin = async () => {
    state = "opening";
    ended = "";
    const mine = starting = {};
    say("Opening the microphone …");
    show();
    try {
      const opened = await microphone.open(owner);
      if (starting !== mine) { return; }
      ({rate, warnings} = opened);
    } catch (error) {
      if (starting === mine) { finish(microphoneTrouble(error, INSTEAD)); }
      return;
    }
    meter.rest();
    microphone.listen(owner, heard);
    player.takeOver(guide);  // what else sounds on the page would be in the take
    if (wants(count) && !player.mute) {
      state = "counting";
      say("");
      player.play(guide, readProgram(model.get("count_in")));
    } else {
      keep();
    }
    draw();
    show();
  };

  // From here on it is kept.
  const keep = () => {
    state = "recording";
    samples = new SamplesToHand(rate);
    const at = new Date(), hours = String(at.getHours()).padStart(2, "0"), minutes = String(at.getMinutes()).padStart(2, "0");
    hand(samples, {name: `recorded at ${hours}:${minutes}`, rate});
    if (wants(drone) && !player.mute) { player.play(guide, readProgram(model.get("drone")), {hold: true}); }
    say(warnings.join(" "));
    show();
  };

  const heard = block => {
    meter.hear(block, rate);
    if (state !== "recording") { return; }
    if (samples.add(block)) { delivery?.goOn(); }
    if (samples.seconds >= model.get("longest")) {
      finish(`The take was ended after ${model.get("longest") / 60} minutes, which is the longest that can be taken.`);
    }
  };

  // The end of it, however it comes; `why` is said if it is not by the learner's hand.
  const finish = (why = "") => {
    const kept = state === "recording";
    state = "idle";
    starting = undefined;
    microphone.close(owner);
    player.stop(guide);
    cancelAnimationFrame(drawing);
    if (kept) {
      samples.end();
      if (samples.length) { delivery.goOn(); } else { delivery.drop(); }
      if (!samples.length) { delivery = samples = undefined; }
    }
    ended = why;
    say(kept ? "The take is on its way to Python." : why ? "" : model.get("told"));
    show();
  };

  const draw = () => {
    meter.draw();
    clock.textContent = state === "recording" ? `● Recording ${clockWords(samples.seconds)}` : "The count: four beats";
    drawing = requestAnimationFrame(draw);
  };

  const chosen = () => {
    const [picked] = file.files;
    file.value = "";
    if (!picked) { return; }
    const most = model.get("limit");
    ended = "";
    if (picked.size > most || !picked.size) {
      delivery?.drop();
      delivery = undefined;
      tell({away: picked.name});
      say(picked.size ? `${picked.name} has ${sizeWords(picked.size)}, and ${sizeWords(most)} is the most that can be `
        + `taken. Cut out the part to be heard, or save it as FLAC.${still()}` : `${picked.name} is empty.${still()}`);
      show();
      return;
    }
    say(`On its way to Python: ${picked.name}, 0 %.${still()}`);
    hand(new FileToHand(picked), {name: picked.name, rate: 0});
    show();
  };

  const owner = {lost(why) { finish(state === "recording" ? `${why} What was recorded until then is kept.` : why); }};
  // The count-in ends, and the take begins.
  const guide = {silenced() { if (state === "counting") { keep(); } }};

  const told = () => {
    if (state === "idle" && delivery === undefined) { say(model.get("told")); }
    show();
  };
  const asksName = on => {
    saving.hidden = !on;
    if (on) {
      place.value = model.get("suggested");
      place.focus();
      place.select();
    } else {
      show();
      (save.hidden ? record : save).focus();
    }
    show();
  };

  const watching = new ResizeObserver(() => {
    const narrow = box.clientWidth < NARROW;
    if (!box.clientWidth || narrow === model.get("narrow")) { return; }
    try {
      model.set("narrow", narrow);
      model.save_changes();
    } catch { /* without Python there is nobody to draw anew */ }
  });
  watching.observe(box);
  record.addEventListener("click", () => state === "idle" ? begin() : finish());
  // A key that is held down would press the button again and again.
  box.addEventListener("keydown", event => { if (event.repeat && event.target.matches("button")) { event.preventDefault(); } });
  choose.addEventListener("click", () => file.click());
  file.addEventListener("change", chosen);
  use.addEventListener("click", () => tell({use: true}));
  leave.addEventListener("click", () => tell({use: false}));
  save.addEventListener("click", () => asksName(true));
  saving.addEventListener("submit", event => {
    event.preventDefault();
    tell({save: place.value});
    asksName(false);
  });
  rescue.addEventListener("click", () => {
    const link = part("a", "rescue-link", {href: URL.createObjectURL(samples.wav()), download: "take.wav"});
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  });
  const never = recorderButton("never", "Cancel");
  never.addEventListener("click", () => asksName(false));
  model.on("change:told change:offered change:unsaved change:count_in change:drone change:drone_name", told);

  saving.hidden = true;
  saving.append(part("label", "save-label", {}, "Save as "), place, part("button", "save-now", {type: "submit"}, "Save"), never);
  saving.firstChild.append(place);
  choice.append(use, leave);
  level.append(clock, meter.bar, meter.words);
  hint.append(part("span", "headphones", {}, HEADPHONES), volume);
  row.append(record, choose, file, countLabel, droneLabel, save, rescue);
  box.append(row, level, words, choice, saving, hint);
  el.append(box);
  guard(el);
  told();
  return () => {
    if (state !== "idle") { finish(); }
    delivery?.stop();
    watching.disconnect();
    endVolume();
    model.off("change:told change:offered change:unsaved change:count_in change:drone change:drone_name", told);
  };
}
