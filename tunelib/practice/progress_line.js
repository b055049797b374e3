// One line on how far a learner has come, in a page without Python; the words are those of progress_line.py.

import {part} from "../live/sounding.js";

// `steps` are the numbers of a lesson's steps, `every` those of the whole course.
export function renderProgressLine({el, progress, steps, every}) {
  const line = part("p", "progress-line", {role: "status"});
  const look = () => {
    const all = progress.all(), solved = number => Boolean(all[number]?.right);
    const listed = steps.map(number => `step ${number}${solved(number) ? " ✓" : ""}`).join(", ");
    const following = [...every.filter(number => number >= steps[0]), ...every].find(number => !solved(number));
    const onward = following === undefined ? "All of them: well done." : `Next: step ${following}.`;
    line.textContent = `This lesson: ${listed}. Solved so far: ${every.filter(solved).length} of ${every.length}. ${onward}`;
  };
  progress.onChange(look);
  look();
  el.replaceChildren(line);
}
