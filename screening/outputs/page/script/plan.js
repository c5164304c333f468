// The plan answers: a location chosen on it, in the list or in a table shows its results, its depth profile and its wells' series.

const panel = document.querySelector(".panel");
const chooser = document.getElementById("place");
const chosenPart = panel.querySelector(".chosen");
const drawnPart = document.querySelector(".drawn");
const planned = document.querySelector("#plan figure svg");
const atPlace = comparisonList("place", { sort: { column: "outcome", down: false } });
const places = rows.columns.location.texts;
let cameFrom = null;

panel.hidden = false;
places.forEach((words, code) => chooser.append(make("option", { value: String(code) }, clipped(words))));
chooser.addEventListener("change", () => {
  if (chooser.value !== "") drawPlace(Number(chooser.value), null);
});

function showPlace(location, origin) {
  const code = places.indexOf(location);
  if (code < 0) return;
  drawPlace(code, origin);
  const head = chosenPart.querySelector("h3");
  document.getElementById("plan").scrollIntoView();
  head.focus({ preventScroll: window.innerWidth > 1000 });
}

function drawPlace(code, origin) {
  const location = places[code];
  const codes = rows.columns.location.codes;
  const own = everyRow.filter((row) => codes[row] === code);
  cameFrom = origin;
  chooser.value = String(code);
  chosenPart.hidden = false;
  chosenPart.querySelector("h3").textContent = location;
  chosenPart.querySelector(".worst").textContent = worstWords(own);
  chosenPart.querySelector(".back").hidden = !origin;
  atPlace.whole = false;
  atPlace.show(own);
  drawPictures(location);
  ring(location);
}

function worstWords(own) {
  const over = own.filter((row) => outcomeOf(row) === "exceeds");
  if (!over.length) return "No result here exceeds a level.";
  const codes = rows.columns.ratio.codes;
  const worst = over.reduce((one, other) => (codes[other] > codes[one] ? other : one));
  const depth = text("depth", worst);
  return "Furthest above its level: " + text("analyte", worst) + " " + text("result", worst) + " " + text("unit", worst)
    + (depth ? " at " + depth : "") + ", " + text("ratio", worst) + " times.";
}

function drawing(words) {
  const read = new DOMParser().parseFromString(words, "image/svg+xml").documentElement;
  return make("figure", { class: "picture" }, document.importNode(read, true));
}

function drawPictures(location) {
  const own = block("pictures")[location];
  drawnPart.replaceChildren();
  drawnPart.hidden = !own || !(own.profile || own.series.length);
  if (drawnPart.hidden) return;
  if (own.profile) drawnPart.append(make("h3", {}, "Depth profile of " + clipped(location)), drawing(own.profile));
  if (own.series.length) {
    drawnPart.append(make("h3", {}, "Rounds of " + clipped(location)));
    own.series.forEach((words) => drawnPart.append(drawing(words)));
    if (own.left) drawnPart.append(make("p", {}, number(own.left) + " more analytes were followed here; the results list them."));
  }
}

function ring(location) {
  if (!planned) return;
  planned.querySelectorAll(".ring").forEach((old) => old.remove());
  marksOnPlan().forEach((mark) => {
    const own = mark.dataset.place === location;
    if (mark.hasAttribute("aria-pressed")) mark.setAttribute("aria-pressed", String(own));
    if (!own) return;
    const { x, y, width, height } = mark.getBBox();
    const drawn = document.createElementNS("http://www.w3.org/2000/svg", "rect");
    const edges = { class: "ring", x: x - 4, y: y - 4, width: width + 8, height: height + 8, rx: 5, fill: "none" };
    Object.entries(edges).forEach(([key, value]) => drawn.setAttribute(key, value));
    mark.before(drawn);
  });
}

function marksOnPlan() {
  return planned ? [...planned.querySelectorAll("[data-place]")] : [];
}

function enlivenPlan() {
  if (!planned) return;
  const marks = marksOnPlan().filter((mark) => places.includes(mark.dataset.place));
  marks.sort((one, other) => places.indexOf(one.dataset.place) - places.indexOf(other.dataset.place));
  planned.setAttribute("role", "group");
  marks.forEach((mark, at) => {
    const title = mark.querySelector("title");
    mark.setAttribute("role", "button");
    mark.setAttribute("tabindex", at ? "-1" : "0");
    mark.setAttribute("aria-pressed", "false");
    mark.setAttribute("aria-label", title ? clipped(title.textContent) : mark.dataset.place);
    const choose = () => drawPlace(places.indexOf(mark.dataset.place), null);
    mark.addEventListener("click", choose);
    mark.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      if (event.key === "Enter" || event.key === " ") choose();
      else if (step && marks[at + step]) {
        mark.setAttribute("tabindex", "-1");
        marks[at + step].setAttribute("tabindex", "0");
        marks[at + step].focus();
      } else if (!step) return;
      event.preventDefault();
    });
  });
  planned.querySelectorAll("[data-label]").forEach((label) => {
    const code = places.indexOf(label.dataset.label);
    if (code >= 0) label.addEventListener("click", () => drawPlace(code, null));
  });
}

enlivenPlan();
chosenPart.querySelector(".back").addEventListener("click", () => {
  const { row, listing } = cameFrom;
  listing.focusRow(row);
});
