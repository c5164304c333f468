// What the page carries, read from its data blocks when it is first needed.

const LONGEST = 120;
const blocks = {};

function block(name) {
  if (!(name in blocks)) {
    const found = document.getElementById("data-" + name);
    blocks[name] = found ? JSON.parse(found.textContent) : null;
  }
  return blocks[name];
}

const rows = block("rows");
const OUTCOME_WORDS = Object.fromEntries(rows.outcomes);

function textOf(data, column, row) {
  const { texts, codes } = data.columns[column];
  return texts[codes[row]];
}

const text = (column, row) => textOf(rows, column, row);

function clipped(words, longest = LONGEST) {
  return words.length > longest ? words.slice(0, longest - 1) + "\u2026" : words;
}

function make(name, properties, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(properties || {})) {
    if (key === "class") made.className = value;
    else if (key in made) made[key] = value;
    else made.setAttribute(key, value);
  }
  made.append(...children);
  return made;
}

function sign(name) {
  const space = "http://www.w3.org/2000/svg";
  const drawn = document.createElementNS(space, "svg");
  const use = document.createElementNS(space, "use");
  drawn.setAttribute("class", "sign");
  drawn.setAttribute("aria-hidden", "true");
  use.setAttribute("href", "#sign-" + name);
  drawn.append(use);
  return drawn;
}

const SIGN_OF = {
  exceeds: "exceeds", open: "open", no_level: "no_level", does_not_exceed: "does_not_exceed",
};

const outcomeOf = (row) => text("outcome", row);

function placeWords(row) {
  return [text("location", row), text("depth", row), text("medium", row)].filter(Boolean).map(clipped).join(", ");
}

function counted(picked) {
  const counts = {};
  for (const row of picked) {
    const name = outcomeOf(row);
    counts[name] = (counts[name] || 0) + 1;
  }
  return counts;
}

const number = (count) => count.toLocaleString("en-US");

function countWords(picked) {
  const counts = counted(picked);
  return rows.outcomes.filter(([name]) => counts[name])
    .map(([name]) => number(counts[name]) + " " + COUNT_WORDS[name]).join(", ");
}

const COUNT_WORDS = {
  exceeds: "exceed", open: "open", no_level: "without a level", does_not_exceed: "do not exceed",
  outweighed: "outweighed by their duplicate pair (not counted)", not_compared: "compared within a sum only",
};
