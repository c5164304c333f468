// The tables of comparisons, and the filters of the whole one.

function resultCell(column, row, words) {
  const outcome = outcomeOf(row);
  if (column === "outcome" || column === "mark") {
    const made = make("span", {});
    if (SIGN_OF[outcome]) made.append(sign(SIGN_OF[outcome]));
    const letter = text("mark", row);
    made.append(make("b", { "aria-hidden": "true" }, letter), make("span", { class: "unseen" }, OUTCOME_WORDS[outcome]));
    made.title = OUTCOME_WORDS[outcome];
    return made;
  }
  if (column === "location") {
    const button = make("button", { type: "button", class: "to-place", title: "show on the plan", dir: "auto" }, clipped(words));
    const made = make("span", {}, button);
    if (text("depth", row)) made.append(make("span", { class: "narrow" }, text("depth", row)));
    if (text("sample", row) !== words) made.append(make("span", { class: "sample" }, clipped(text("sample", row))));
    return made;
  }
  if (column === "analyte") {
    const button = make("button", { type: "button", class: "origin", dir: "auto" }, clipped(words));
    const more = " at " + placeWords(row) + ": how its verdict came about";
    button.append(make("span", { class: "unseen" }, more));
    return button;
  }
  if (column === "result") return make("span", {}, clipped(words), make("span", { class: "narrow" }, text("unit", row)));
  if (column === "because") return clipped(words, 600);
  return null;
}

const listings = {};

function comparisonList(name, options) {
  const root = document.querySelector('.listing[data-rows="' + name + '"]');
  if (!root) return null;
  const listing = new Listing(root, rows, {
    size: Number(root.dataset.size),
    cell: resultCell,
    open: true,
    mark: outcomeOf,
    told: countWords,
    ...options,
  });
  listing.body.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    const row = Number(button.closest("tr").dataset.row);
    if (button.classList.contains("origin")) openDerivation(row, listing);
    else showPlace(text("location", row), { row, listing });
  });
  listings[name] = listing;
  return listing;
}

const everyRow = [...Array(rows.count).keys()];
const all = comparisonList("all", { sort: { column: "outcome", down: false }, told: filterWords });
for (const [name, sort] of [["exceeds", { column: "ratio", down: true }], ["open", { column: "location", down: false }]]) {
  const listing = comparisonList(name, { sort });
  if (listing) listing.show(everyRow.filter((row) => outcomeOf(row) === name));
}

const form = document.getElementById("filters");
const selects = [...form.querySelectorAll("select[data-filter]")];
const search = document.getElementById("words");
const SEARCHED = ["location", "sample", "depth", "sampled", "medium", "analyte", "cas", "method", "result", "unit", "table", "because"];

function fillSelects() {
  for (const select of selects) {
    const { texts, codes } = rows.columns[select.dataset.filter];
    const counts = new Array(texts.length).fill(0);
    for (const code of codes) counts[code] += 1;
    texts.forEach((words, code) => {
      if (!counts[code] || words === "") return;
      const shown = select.dataset.filter === "outcome" ? OUTCOME_WORDS[words] : clipped(words);
      select.append(make("option", { value: String(code) }, shown + " (" + number(counts[code]) + ")"));
    });
  }
}

// For each searched column the codes whose text holds the word.
function holding(word) {
  return SEARCHED.map((name) => {
    const { texts, codes } = rows.columns[name];
    return { codes, held: texts.map((words) => words.toLowerCase().includes(word)) };
  });
}

function filter() {
  const chosen = selects.filter((select) => select.value !== "")
    .map((select) => ({ codes: rows.columns[select.dataset.filter].codes, code: Number(select.value) }));
  const words = search.value.toLowerCase().split(/\s+/).filter(Boolean).map(holding);
  all.show(everyRow.filter((row) =>
    chosen.every(({ codes, code }) => codes[row] === code)
    && words.every((columns) => columns.some(({ codes, held }) => held[codes[row]]))));
}

function filterWords(picked) {
  const filtered = picked.length < rows.count ? " of " + number(rows.count) + ", filtered" : "";
  const said = countWords(picked);
  return number(picked.length) + (picked.length === 1 ? " row" : " rows") + filtered + (said ? ": " + said : "") + ".";
}

let waiting = 0;
function soon() {
  clearTimeout(waiting);
  waiting = setTimeout(filter, 120);
}

function filterBy(name, words) {
  form.reset();
  const select = selects.find((one) => one.dataset.filter === name);
  const code = rows.columns[name].texts.indexOf(words);
  select.value = code < 0 ? "" : String(code);
  filter();
}

fillSelects();
form.hidden = false;
form.addEventListener("submit", (event) => { event.preventDefault(); filter(); });
form.addEventListener("reset", () => setTimeout(filter));
search.addEventListener("input", soon);
selects.forEach((select) => select.addEventListener("change", filter));
all.show(everyRow);

document.querySelectorAll("button[data-outcome]").forEach((button) => button.addEventListener("click", () => {
  filterBy("outcome", button.dataset.outcome);
  const head = document.getElementById("head-results");
  head.scrollIntoView();
  head.focus({ preventScroll: true });
}));
