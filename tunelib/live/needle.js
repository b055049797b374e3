// A live needle: what is sung or played, found in the page, against a note of any tuning; its neighbours, the last seconds
// as a line, and a drone to sing to. It needs nobody who answers.

import {guard} from "./guard.js";
import {KeyScale} from "./key_names.js";
import {microphoneTrouble, theMicrophone} from "./microphone.js";
import {NeedleAttempt} from "./needle_attempt.js";
import {NeedleLadder} from "./needle_ladder.js";
import {NeedleMotion} from "./needle_motion.js";
import {PitchFinder} from "./pitch_finder.js";
import {readProgram, thePlayer} from "./player.js";
import {part, volumeSlider} from "./sounding.js";

const WORDS_SECONDS = 0.2, TOLD_SECONDS = 0.5;  // between two renewals of what is to be read, and of what is read aloud
const NEWEST = 0.018;  // seconds that the bead is behind the newest sound: half of the shortest stretch that is measured
const DRONE_LEVEL = 0.6;
const OWN_HEARD = {after: 0.3, until: 1, times: 20, within: 8};  // seconds, pitches and cents: of the drone in the microphone
const FAR = 600;  // cents beyond which it is not told how many
const ON_TARGET = 0.5;  // cents within which a target is a note of the tuning

const HEADPHONES = "Listen to the drone through headphones, softly: a microphone that hears it takes it for you.";
const OWN_DRONE = "The microphone hears the drone, and the needle follows it. Put on headphones, or turn the drone down.";
const READY = "Press Listen, and sing or play a note that you hold.";

export function renderNeedle({model, el}) {
  const microphone = theMicrophone(), player = thePlayer(), scale = new KeyScale(model.get("scale"));
  const base = 1200 * Math.log2(scale.hertz), motion = new NeedleMotion(), attempt = new NeedleAttempt(done);
  const listen = button("hear", "Listen"), drone = button("drone", ""), free = button("free", "Any note");
  const lower = button("lower", "−", "Target one step lower"), higher = button("higher", "+", "Target one step higher");
  const name = part("span", "needle-name"), beside = part("span", "needle-beside");
  const off = part("span", "needle-off"), near = part("span", "needle-near");
  const octave = part("input", "octave", {type: "checkbox"}), octaves = part("label", "octaves", {}, "Any octave");
  const aimed = part("b", "needle-target"), said = part("p", "needle-said", {role: "status"});
  const meter = part("div", "needle-meter", {role: "meter"});
  const canvas = part("canvas", "needle-ladder", {"aria-hidden": "true"});
  const ladder = new NeedleLadder(canvas, scale), still = matchMedia("(prefers-reduced-motion: reduce)");
  const [volume, endVolume] = volumeSlider(player);
  let finder, newest = 0, arrived = 0, frame = 0;  // the moment of the newest sample, and the page's when it came
  let wordsAt = 0, toldAt = 0, droneAt = 0, ownHeard = 0, opening = false, closed = false;

  const tell = (message, buffers) => { try { model.send(message, undefined, buffers); } catch { /* nobody answers */ } };
  const share = (trait, value) => {
    try {
      model.set(trait, value);
      model.save_changes();
    } catch { /* the same */ }
  };
  const say = words => { said.textContent = words; };
  const centsOf = hertz => 1200 * Math.log2(hertz) - base;

  // The target: its nearest step, its cents above step 0 and beside that step, and its name; none where any note will do.
  function target() {
    const hertz = model.get("target");
    if (!hertz) { return undefined; }
    const {step, away} = scale.nearest(hertz), exact = Math.abs(away) < ON_TARGET, cents = scale.centsOf(step) + away;
    const beside = exact ? "" : signedWhole(away);
    return {step, cents, away, beside, words: `${scale.full(step)} ${beside}`.trim()};
  }

  // Cents above step 0 of what is sung; in the octave of the target if any will do.
  function placed(cents, aim) {
    const above = cents - base;
    return aim && model.get("any_octave") ? above - 1200 * Math.round((above - aim.cents) / 1200) : above;
  }

  // What is shown now.
  function needle(aim) {
    return {cents: motion.shows ? placed(motion.cents, aim) : NaN, swing: motion.swing, sounds: motion.sounds};
  }

  function hear(samples, end) {
    finder.add(samples);
    const {hertz, clarity, late} = finder.find(), seconds = end - late, cents = motion.take(seconds, hertz, clarity);
    const aim = target(), above = placed(cents, aim), shown = needle(aim);
    [newest, arrived] = [end, performance.now()];
    ladder.add(seconds, above);
    attempt.take(seconds, scale.hertz * 2 ** (above / 1200), aim ? shown.cents - aim.cents : NaN, model.get("target"));
    listenForDrone(end, above);
  }

  // Whether what comes in as the drone begins, after silence, is the drone.
  function listenForDrone(now, cents) {
    if (!droneId || droneAt === undefined) { return; }
    if (!droneAt) { droneAt = motion.sounds ? undefined : now; }
    const since = now - droneAt, apart = cents - centsOf(droneHertz());
    if (since < OWN_HEARD.after || Number.isNaN(cents)) { return; }
    ownHeard += Math.abs(apart - 1200 * Math.round(apart / 1200)) < OWN_HEARD.within ? 1 : 0;
    if (ownHeard > OWN_HEARD.times) { say(OWN_DRONE); }
    if (since > OWN_HEARD.until || ownHeard > OWN_HEARD.times) { droneAt = undefined; }
  }

  function done({seconds, hertz, target: of, near: inside}) {
    const aim = scale.nearest(of), cents = hertz.filter(one => one > 0).map(one => 1200 * Math.log2(one / of));
    const middle = cents.sort((one, other) => one - other)[cents.length >> 1], held = seconds.at(-1).toFixed(1);
    say(`Held for ${held} s, ${inside.toFixed(1)} s of it within 10 cents of ${scale.full(aim.step)}. `
      + `Middle of what you sang: ${offWords(middle)}.`);
    tell({attempt: of}, [seconds, hertz].map(values => Float64Array.from(values).buffer));
  }

  function show(now) {
    const aim = target(), shown = needle(aim);
    const moment = newest - NEWEST + Math.min(0.05, (now - arrived) / 1000);
    ladder.draw(moment, aim, shown, still.matches);
    const clock = now / 1000;
    if (clock - wordsAt >= WORDS_SECONDS) {
      wordsAt = clock;
      showWords(aim, shown);
    }
    if (clock - toldAt >= TOLD_SECONDS) {
      toldAt = clock;
      showValue(aim, shown);
    }
    el.dispatchEvent(new CustomEvent("tunelib-needle", {bubbles: true, detail: {...shown, target: aim?.cents, newest}}));
  }

  function showWords(aim, {cents, sounds}) {
    const none = Number.isNaN(cents), nearest = none ? undefined : scale.nearestTo(cents);
    const away = cents - (aim ? aim.cents : scale.centsOf(nearest));
    write(name, aim ? scale.full(aim.step) : none ? "–" : scale.full(nearest));
    write(beside, aim?.beside ?? "");
    write(off, none ? "" : Math.abs(away) < FAR ? `${signedWhole(away)} cents` : away < 0 ? "far too low" : "far too high");
    write(near, aim ? `within 10 cents: ${attempt.near.toFixed(1)} s` : "");
    el.classList.toggle("tunelib-held", !none && !sounds);
    el.classList.toggle("tunelib-unheard", none);
  }

  function showValue(aim, {cents}) {
    const none = Number.isNaN(cents), nearest = none ? undefined : scale.nearestTo(cents);
    const away = cents - (aim ? aim.cents : scale.centsOf(nearest)), most = Math.round(ladder.half);
    const elsewhere = aim && aim.step !== nearest ? ` of ${scale.aloud(aim.step)}` : "";
    meter.setAttribute("aria-valuenow", none ? 0 : Math.round(Math.min(most, Math.max(-most, away))));
    meter.setAttribute("aria-valuetext", none ? "no clear pitch" : `${scale.aloud(nearest)}, ${offWords(away)}${elsewhere}`);
  }

  // Everything that follows from the target.
  function showTarget() {
    const aim = target();
    write(aimed, aim ? aim.words : "–");
    octaves.hidden = !aim;
    octave.checked = model.get("any_octave");
    free.setAttribute("aria-pressed", String(!aim));
    meter.setAttribute("aria-label", `Pitch, in cents from ${aim ? scale.aloud(aim.step) : "the nearest note"}`);
    showDrone();
    again();
  }

  function moveTarget(by) {
    const aim = target(), from = aim ? aim.step : ladder.aimed.step;
    // From between two notes, to the one on that side.
    const step = aim && aim.away * by < -ON_TARGET ? aim.step : from + by;
    const hertz = scale.hz(step);
    if (hertz < model.get("lowest") || hertz > model.get("highest")) { return; }
    share("target", hertz);
    say(`Target: ${scale.aloud(step)}.`);
  }

  const owner = {silenced: () => { droneId = 0; showDrone(); }};
  let droneId = 0;
  const tone = readProgram(model.get("tones")).tones[0], toneHertz = model.get("tone_hertz");
  function droneHertz() { return model.get("drone") || model.get("target") || scale.hertz; }
  function showDrone() {
    write(drone, `Drone ${scale.full(scale.nearest(droneHertz()).step)}`);
    drone.setAttribute("aria-pressed", String(droneId !== 0));
    if (droneId) { player.bend(droneId, droneHertz() / toneHertz); }
  }
  function turnDrone() {
    if (droneId) {
      player.release(droneId);
      droneId = 0;
    } else {
      droneId = player.newId();
      [droneAt, ownHeard] = [0, 0];
      player.press(owner, droneId, tone, DRONE_LEVEL, droneHertz() / toneHertz);
      say(HEADPHONES);
    }
    showDrone();
  }

  const ear = {lost: words => stop(words)};
  async function start() {
    if (opening) { return; }
    opening = true;
    say("The browser asks for the microphone.");
    try {
      const {rate, warnings} = await microphone.open(ear);
      if (closed) { return microphone.close(ear); }
      finder = new PitchFinder(rate, model.get("lowest"), model.get("highest"));
      motion.forget();
      ladder.forget();  // a microphone that is opened anew has a clock of its own
      microphone.listen(ear, hear);
      say(warnings.join(" ") || "Listening. Nothing is kept but the pitch of an attempt.");
      share("listening", true);
    } catch (error) {
      say(microphoneTrouble(error));
    }
    opening = false;
    showListening();
  }
  function stop(words = READY) {
    microphone.close(ear);
    attempt.end();
    finder = undefined;
    motion.forget();
    say(words);
    share("listening", false);
    showListening();
  }
  function showListening() {
    listen.textContent = finder ? "Stop" : "Listen";
    el.classList.toggle("tunelib-listens", finder !== undefined);
    again();
  }
  function asked() {
    if (!model.get("listening") && finder) { stop(); }
  }

  // Draw at the next chance, and go on as long as anything moves.
  function again() { frame ||= requestAnimationFrame(draw); }
  function draw(now) {
    frame = 0;
    show(now);
    if (finder || ladder.turns) { again(); }
  }

  el.classList.add("tunelib-part", "tunelib-needle");
  el.dataset.steps = scale.even ? scale.count : "";
  meter.setAttribute("aria-valuemin", -Math.round(ladder.half));
  meter.setAttribute("aria-valuemax", Math.round(ladder.half));
  meter.append(canvas);
  const head = part("div", "needle-head", {"aria-hidden": "true"}), tools = part("div", "tools");
  const aims = part("span", "needle-aims", {role: "group", "aria-label": "Target"});
  head.append(name, beside, off, near);
  octaves.prepend(octave);
  aims.append(lower, aimed, higher, free, octaves);
  tools.append(listen, drone, aims, volume);
  el.append(part("p", "keys-title", {}, model.get("title")), head, meter, tools, said);
  listen.addEventListener("click", () => finder ? stop() : start());
  drone.addEventListener("click", turnDrone);
  lower.addEventListener("click", () => moveTarget(-1));
  higher.addEventListener("click", () => moveTarget(1));
  free.addEventListener("click", () => share("target", target() ? 0 : scale.hz(ladder.aimed.step)));
  octave.addEventListener("change", () => share("any_octave", octave.checked));
  drone.disabled = player.mute !== "";
  const resized = new ResizeObserver(again);
  resized.observe(canvas);
  const heeded = [["target", showTarget], ["any_octave", showTarget], ["drone", showDrone], ["listening", asked]];
  heeded.forEach(([trait, act]) => model.on(`change:${trait}`, act));
  guard(el);
  say(READY);
  showTarget();
  showListening();
  return () => {
    closed = true;
    microphone.close(ear);
    player.releaseAll(owner);
    cancelAnimationFrame(frame);
    resized.disconnect();
    endVolume();
    heeded.forEach(([trait, act]) => model.off(`change:${trait}`, act));
  };
}

function button(name, words, spoken) {
  return part("button", name, {type: "button", ...spoken && {"aria-label": spoken, title: spoken}}, words);
}

// Only what has changed is written, so that nothing is read aloud anew.
function write(element, words) { if (element.textContent !== words) { element.textContent = words; } }

function signedWhole(cents) {
  const whole = Math.round(cents);
  return whole ? `${whole < 0 ? "−" : "+"}${Math.abs(whole)}` : "0";
}

function offWords(cents) {
  const whole = Math.abs(Math.round(cents));
  return whole ? `${whole} cent${whole > 1 ? "s" : ""} ${cents < 0 ? "flat" : "sharp"}` : "in tune to a cent";
}
