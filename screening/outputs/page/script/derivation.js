// How a verdict came about: a dialog over the page, with its neighbours in the table it was opened from.

const dialog = document.getElementById("derivation");
let opened = null;

const STEP_WORDS = {
  delivered: "Cell of the laboratory's file", "delivered row": "What its row says", decision: "What a person decided",
  "normal form": "Normal form", sum: "Parts of the sum", review: "Quality review", "field duplicate": "Field duplicate",
  level: "Level", law: "Law", "level that may apply": "Level that may apply", outcome: "Outcome",
};

function openDerivation(row, listing) {
  opened = { row, listing };
  drawDerivation();
  if (!dialog.open) dialog.showModal();
  document.getElementById("derivation-title").focus();
}

function drawDerivation() {
  const { row, listing } = opened;
  const outcome = outcomeOf(row);
  const said = block("derivations");
  const steps = said.rows[row];
  dialog.querySelector("h2").textContent = text("analyte", row);
  dialog.querySelector(".where").textContent =
    [text("location", row), text("sample", row), text("depth", row), text("medium", row), text("sampled", row)]
      .filter((words, at, all) => words && all.indexOf(words) === at).join(", ");
  const verdict = [text("result", row), text("unit", row)].filter(Boolean).join(" ");
  const level = text("level", row) ? "; level " + text("level", row) + " " + text("unit", row) : "";
  dialog.querySelector(".verdict").replaceChildren(
    ...(SIGN_OF[outcome] ? [sign(SIGN_OF[outcome]), " "] : []), make("strong", {}, verdict), " ", OUTCOME_WORDS[outcome], level);
  const list = dialog.querySelector(".steps");
  list.replaceChildren();
  for (let at = 0; at < steps.length; at += 2) {
    const name = said.names[steps[at]];
    list.append(make("li", {}, make("b", {}, STEP_WORDS[name] || name), make("span", { dir: "auto" }, said.texts[steps[at + 1]])));
  }
  const at = listing.picked.indexOf(row);
  dialog.querySelectorAll(".step").forEach((button) => {
    const next = at + Number(button.value);
    button.disabled = next < 0 || next >= listing.picked.length;
  });
  dialog.scrollTop = 0;
}

dialog.querySelectorAll(".step").forEach((button) => button.addEventListener("click", () => {
  const { row, listing } = opened;
  opened.row = listing.picked[listing.picked.indexOf(row) + Number(button.value)];
  drawDerivation();
  (button.disabled ? document.getElementById("derivation-title") : button).focus();
}));
dialog.querySelector(".close").addEventListener("click", () => dialog.close());
dialog.addEventListener("click", (event) => { if (event.target === dialog) dialog.close(); });
dialog.addEventListener("close", () => {
  const { row, listing, left } = opened;
  if (!left) listing.focusRow(row);
});
dialog.querySelector(".to-plan").addEventListener("click", () => {
  opened.left = true;
  dialog.close();
  showPlace(text("location", opened.row), opened);
});
