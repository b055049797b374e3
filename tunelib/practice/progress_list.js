// The steps of the course with what was done on each, in a page without Python; the words are those of progress.py.

import {part} from "../live/sounding.js";
import {NOTHING_DONE, dayOf} from "./progress.js";

const WHERE_KEPT = "Kept in this browser, for the pages of this place, and nowhere else. What you type is not kept.";
const NOT_STORED = "This browser does not allow progress to be kept here, so it lasts as long as this page is open.";

// `lessons` are their headings, each with its steps: their numbers, and what they are about.
export function renderProgress({el, progress, lessons}) {
  const total = part("p", "progress-total"), table = part("table", "progress-list"), where = part("p", "progress-where");
  const response = part("p", "card-response", {role: "status", "aria-live": "polite"});
  const forget = part("button", "card-button", {type: "button"}, "Forget my progress");
  const keep = part("button", "card-button", {type: "button", hidden: ""}, "No, keep it");
  const settle = words => {
    forget.textContent = "Forget my progress";
    keep.hidden = true;
    response.textContent = words;
  };
  const look = () => {
    const all = progress.all(), solved = steps => steps.filter(([number]) => all[number]?.right).length;
    const count = lessons.reduce((sum, [, steps]) => sum + steps.length, 0);
    total.textContent = `${lessons.reduce((sum, [, steps]) => sum + solved(steps), 0)} of ${count} exercises solved.`;
    table.replaceChildren(progressRow("th", "col", "Step", "About", "Your exercise"), ...lessons.flatMap(([heading, steps]) => [
      lessonRow(`${heading}: ${solved(steps)} of ${steps.length} solved`),
      ...steps.map(([number, about]) => progressRow("td", "", number, about, doneInWords(all[number] ?? NOTHING_DONE))),
    ]));
    where.textContent = progress.kept ? WHERE_KEPT : NOT_STORED;
  };
  forget.addEventListener("click", () => {
    if (keep.hidden) {
      keep.hidden = false;
      forget.textContent = "Yes, forget it all";
      response.textContent = "Press once more to begin with an empty list.";
    } else {
      progress.forget();
      settle("Forgotten.");
    }
  });
  keep.addEventListener("click", () => settle("Nothing was changed."));
  progress.onChange(look);
  look();
  el.classList.add("tunelib-progress");
  el.replaceChildren(total, table, where, forget, keep, response);
}

function progressRow(tag, scope, ...words) {
  const row = part("tr", "progress-row");
  row.append(...words.map(said => part(tag, "progress-cell", scope ? {scope} : {}, said)));
  return row;
}

function lessonRow(words) {
  const row = part("tr", "progress-lesson");
  row.append(part("th", "progress-cell", {colspan: 3, scope: "rowgroup"}, words));
  return row;
}

// What was done on an exercise, such as "✓ solved on 3 May 2026, in 2 tries, with the hint".
function doneInWords({tries, right, hint, worked}) {
  const helps = [["the hint", hint], ["the worked answer", worked]].filter(([, opened]) => opened).map(([words]) => words);
  if (right) {
    const counted = tries === 1 ? "at the first try" : `in ${tries} tries`;
    return `✓ solved on ${dayOf(right)}, ${counted}${helps.length ? ", with " : ""}${helps.join(" and ")}`;
  }
  const opened = helps.length ? `; ${helps.join(" and ")} opened` : "";
  return tries ? `tried ${tries === 1 ? "once" : `${tries} times`}, not solved yet${opened}` : `not tried yet${opened}`;
}
