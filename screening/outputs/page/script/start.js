// Colours, printing, and the long lists whose data stand behind the scripts.

const theme = document.getElementById("theme");
const KEPT = "screening-page-colours";

function remembered(value) {
  try {
    if (value === undefined) return localStorage.getItem(KEPT) || "";
    localStorage.setItem(KEPT, value);
  } catch {
    // a page opened from a file may have no storage: the choice lasts as long as the page
  }
  return "";
}

function colour(value) {
  if (value) document.documentElement.dataset.theme = value;
  else delete document.documentElement.dataset.theme;
}

theme.value = remembered();
colour(theme.value);
theme.addEventListener("change", () => { colour(theme.value); remembered(theme.value); });
document.querySelector(".controls").hidden = false;
document.getElementById("print").addEventListener("click", () => window.print());

window.addEventListener("resize", () => Object.values(listings).forEach((listing) => listing.fit()));

// On paper every row of every table and every folded part is shown.
let unfolded = [];
let paged = [];
window.addEventListener("beforeprint", () => {
  unfolded = [...document.querySelectorAll("details:not([open])")];
  unfolded.forEach((part) => { part.open = true; });
  paged = Object.values(listings).filter((listing) => !listing.whole && listing.pages > 1);
  paged.forEach((listing) => { listing.whole = true; listing.draw(); });
});
window.addEventListener("afterprint", () => {
  unfolded.forEach((part) => { part.open = false; });
  paged.forEach((listing) => { listing.whole = false; listing.draw(); });
});

document.addEventListener("DOMContentLoaded", () => {
  document.querySelectorAll(".listing[data-list]").forEach((root) => {
    const name = root.dataset.list;
    const listing = new Listing(root, block("list-" + name), { size: 25 });
    listings["list-" + name] = listing;
    listing.draw();
  });
});
