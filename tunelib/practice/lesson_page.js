// A lesson on a page without Python: what works on it is brought to life.

import {renderKeys} from "../live/keys.js";
import {thePlayer} from "../live/player.js";
import {volumeSlider} from "../live/sounding.js";
import {PageModel, PagePanel, bytesOf, unpacked} from "../show/page_panel.js";

const NEAR = {rootMargin: "100%"};  // how far off a part of the page is when it is unpacked

// What is packed for a part of the page.
function packedFor(name, part) {
  return unpacked(bytesOf(document.querySelector(`[data-of="${name}"][data-part="${part}"]`)));
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

async function bringKeys(place) {
  const [state, tones] = await Promise.all([packedFor(place.id, "state"), packedFor(place.id, "tones")]);
  const model = new PageModel({...JSON.parse(new TextDecoder().decode(state)), tones});
  place.replaceChildren();
  renderKeys({model, el: place});
}

function beginPage() {
  const [volume] = volumeSlider(thePlayer());
  document.getElementById("volume").append(volume);
  document.querySelectorAll(".exhibit").forEach(figure => new PagePanel(figure));
  document.querySelectorAll(".instrument").forEach(place => whenNear(place, bringKeys));
}
