"use strict";
const order = new Intl.Collator("en", { numeric: true });
const key = (row, at) => { const cell = row.cells[at]; return cell.dataset.key ?? cell.textContent; };
const compare = (one, two) => {
  if ((one === "") !== (two === "")) return one === "" ? 1 : -1;
  const numbers = [Number(one), Number(two)];
  return numbers.some(Number.isNaN) ? order.compare(one, two) : numbers[0] - numbers[1];
};
for (const head of document.querySelectorAll("th")) {
  head.querySelector("button").addEventListener("click", () => {
    const down = head.getAttribute("aria-sort") === "ascending";
    for (const other of head.parentElement.cells) other.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", down ? "descending" : "ascending");
    const body = head.closest("table").tBodies[0];
    const rows = [...body.rows].map((row) => [key(row, head.cellIndex), row]);
    rows.sort((one, two) => {
      if (one[0] === "" || two[0] === "") return compare(one[0], two[0]);
      return down ? compare(two[0], one[0]) : compare(one[0], two[0]);
    });
    body.append(...rows.map((pair) => pair[1]));
  });
}
const filter = document.getElementById("filter");
filter.addEventListener("input", () => {
  const words = filter.value.toLowerCase().split(/\s+/).filter(Boolean);
  let shown = 0, all = 0;
  for (const row of document.querySelectorAll("tbody tr")) {
    const text = row.textContent.toLowerCase();
    row.hidden = !words.every((word) => text.includes(word));
    all += 1;
    shown += row.hidden ? 0 : 1;
  }
  document.getElementById("shown").textContent = words.length ? `${shown} of ${all} rows` : "";
});
document.getElementById("shade").addEventListener("click", () => {
  const root = document.documentElement;
  const dark = root.classList.contains("dark") || (!root.classList.contains("light") && matchMedia("(prefers-color-scheme: dark)").matches);
  root.classList.remove("dark", "light");
  root.classList.add(dark ? "light" : "dark");
});
const unfold = () => { const part = document.querySelector(location.hash || "main"); if (part instanceof HTMLDetailsElement) part.open = true; };
addEventListener("hashchange", unfold);
addEventListener("beforeprint", () => { for (const part of document.querySelectorAll("details")) if (part.id !== "no-flip") part.open = true; });
unfold();
