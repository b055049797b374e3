// A lesson on a page without Python: what works on it is brought to life.

import {renderCard} from "./card.js";
import {Progress} from "./progress.js";
import {renderProgressLine} from "./progress_line.js";
import {renderProgress} from "./progress_list.js";
import {renderKeys} from "../live/keys.js";
import {renderNeedle} from "../live/needle.js";
import {thePlayer} from "../live/player.js";
import {volumeSlider} from "../live/sounding.js";
import {PageModel, PagePanel, bytesOf, unpacked} from "../show/page_panel.js";

const NEAR = {rootMargin: "100%"};  // how far off a part of the page is when it is unpacked

// What is packed for a part of the page.
function packedFor(name, part) {
  return unpacked(bytesOf(document.querySelector(`[data-of="${name}"][data-part="${part}"]`)));
}

const shared = new Map();  // what several parts of the page have, by its name; each is unpacked once

function sharedAs(name) {
  if (!shared.has(name)) { shared.set(name, packedFor(name, "shared")); }
  return shared.get(name);
}

// Do something with a part of the page when it comes near, once.
function whenNear(element, act) {
  new IntersectionObserver(([{isIntersecting}], observer) => {
    if (isIntersecting) {
      observer.disconnect();
      act(element);
    }
  }, NEAR).observe(element);
}

async function tableFor(name, part) {
  return JSON.parse(new TextDecoder().decode(await packedFor(name, part)));
}

// The model of an instrument or a needle whose data are packed under a name.
async function modelFor(name) {
  const state = await tableFor(name, "state");
  return new PageModel({...state, tones: await sharedAs(state.tones)});
}

async function bring(place, render) {
  const model = await modelFor(place.id);
  place.replaceChildren();
  render({model, el: place});
}

async function bringCard(place, progress) {
  const data = await tableFor(place.id, "card"), model = data.answer.kind === "played" && await modelFor(place.id);
  const instrument = el => {
    renderKeys({model, el});
    return model;
  };
  const sounds = await Promise.all(data.sounds.map((_, n) => packedFor(place.id, `sound-${n}`)));
  renderCard({data, el: place, progress, instrument: model ? instrument : undefined, sounds});
}

async function bringProgressLine(place, progress) {
  renderProgressLine({el: place, progress, ...await tableFor(place.id, "steps")});
}

async function bringProgress(place, progress) {
  renderProgress({el: place, progress, lessons: await tableFor(place.id, "lessons")});
}

function beginPage() {
  const [volume] = volumeSlider(thePlayer());
  document.getElementById("volume").append(volume);
  document.querySelectorAll(".exhibit").forEach(figure => new PagePanel(figure));
  const progress = new Progress();
  document.querySelectorAll(".card").forEach(place => whenNear(place, () => bringCard(place, progress)));
  document.querySelectorAll(".progress").forEach(place => whenNear(place, () => bringProgress(place, progress)));
  document.querySelectorAll(".progress-line").forEach(place => whenNear(place, () => bringProgressLine(place, progress)));
  document.querySelectorAll(".instrument").forEach(place => whenNear(place, () => bring(place, renderKeys)));
  document.querySelectorAll(".needle").forEach(place => whenNear(place, () => bring(place, renderNeedle)));
}
