// A table that is drawn page by page, sorted by its headings and walked with the arrow keys.

class Listing {
  // data: its columns; cell(column, row): the content of a cell where it is more than text; open(row): what a row does.
  constructor(root, data, { size = 200, sort = null, cell = null, open = null, mark = null, told = null } = {}) {
    Object.assign(this, { root, data, size, cell, open, mark, told });
    this.table = root.querySelector("table");
    this.body = this.table.tBodies[0];
    this.heads = [...this.table.querySelectorAll("th[data-column]")];
    this.columns = this.heads.map((head) => ({ name: head.dataset.column, kind: head.className }));
    this.status = root.querySelector(".told");
    this.picked = [...Array(data.count).keys()];
    this.sort = sort;
    this.page = 0;
    this.whole = false;
    this.buildPager();
    this.heads.forEach((head) => head.querySelector("button").addEventListener("click", () => this.sortBy(head.dataset.column)));
    this.body.addEventListener("keydown", (event) => this.onKey(event));
    if (open) this.body.addEventListener("click", (event) => this.onClick(event));
  }

  buildPager() {
    this.back = make("button", { type: "button", textContent: "Previous page" });
    this.on = make("button", { type: "button", textContent: "Next page" });
    this.all = make("button", { type: "button", textContent: "Show all" });
    this.where = make("span", { class: "where" });
    const label = this.table.caption ? this.table.caption.textContent : this.root.querySelector(".scroll").getAttribute("aria-label");
    this.pager = make("nav", { class: "pager", "aria-label": "Pages: " + label }, this.back, this.where, this.on, this.all);
    this.back.addEventListener("click", () => this.turn(this.page - 1));
    this.on.addEventListener("click", () => this.turn(this.page + 1));
    this.all.addEventListener("click", () => { this.whole = !this.whole; this.page = 0; this.draw(); });
    this.root.append(this.pager);
  }

  show(picked) {
    this.picked = picked;
    this.page = 0;
    this.order();
    this.draw();
  }

  sortBy(column) {
    const down = this.sort && this.sort.column === column && !this.sort.down;
    this.sort = { column, down };
    this.page = 0;
    this.order();
    this.draw();
  }

  // Rows by their codes, ties as they came; what has no text comes last in both directions.
  order() {
    if (!this.sort) return;
    const { texts, codes } = this.data.columns[this.sort.column];
    const way = this.sort.down ? -1 : 1;
    const key = texts.map((words, code) => (words === "" && this.sort.column !== "mark" ? Infinity : way * code));
    this.picked = [...this.picked].sort((one, other) => {
      const [a, b] = [key[codes[one]], key[codes[other]]];
      return a === b ? one - other : a - b;
    });
  }

  get pages() {
    return this.whole ? 1 : Math.max(1, Math.ceil(this.picked.length / this.size));
  }

  visible() {
    return this.whole ? this.picked : this.picked.slice(this.page * this.size, (this.page + 1) * this.size);
  }

  turn(page, focus) {
    this.page = Math.min(Math.max(page, 0), this.pages - 1);
    this.draw();
    if (focus !== undefined) this.focusOn(focus, 0);
    else this.root.scrollIntoView({ block: "nearest" });
  }

  draw() {
    const shown = this.visible();
    const from = this.whole ? 0 : this.page * this.size;
    this.body.replaceChildren(...shown.map((row) => this.line(row)));
    this.table.setAttribute("aria-rowcount", this.picked.length + 1);
    [...this.body.rows].forEach((line, at) => line.setAttribute("aria-rowindex", from + at + 2));
    this.heads.forEach((head) => {
      const own = this.sort && this.sort.column === head.dataset.column;
      if (own) head.setAttribute("aria-sort", this.sort.down ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    });
    const first = this.body.querySelector("button");
    if (first) first.tabIndex = 0;
    const count = this.picked.length;
    this.pager.hidden = count <= this.size;
    this.where.textContent = this.whole ? "all " + number(count) + " rows"
      : "rows " + number(from + 1) + " to " + number(from + shown.length) + " of " + number(count);
    this.back.disabled = this.page === 0;
    this.on.disabled = this.page >= this.pages - 1;
    this.back.hidden = this.on.hidden = this.whole;
    this.all.textContent = this.whole ? "Show " + this.size + " at a time" : "Show all";
    this.fit();
    this.status.textContent = this.told ? this.told(this.picked) : number(count) + (count === 1 ? " row" : " rows");
  }

  // A table that is no wider than its room keeps its head in sight; a wider one scrolls within its room.
  fit() {
    const room = this.table.parentElement;
    room.classList.remove("fits");
    room.classList.toggle("fits", this.table.offsetWidth <= room.clientWidth);
  }

  line(row) {
    const line = make("tr", { class: this.mark ? this.mark(row) : "" });
    line.dataset.row = row;
    for (const { name, kind } of this.columns) {
      const words = textOf(this.data, name, row);
      const content = this.cell ? this.cell(name, row, words) : null;
      const cell = make(name === "analyte" ? "th" : "td", { class: kind });
      if (name === "analyte") cell.scope = "row";
      cell.append(content === null ? clipped(words) : content);
      line.append(cell);
    }
    line.querySelectorAll("button").forEach((button) => { button.tabIndex = -1; });
    return line;
  }

  onClick(event) {
    const line = event.target.closest("tr");
    if (!line || event.target.closest("button") || !getSelection().isCollapsed) return;
    const button = line.querySelector("button.origin");
    if (button) button.click();
  }

  onKey(event) {
    const line = event.target.closest("tr");
    if (!line || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
    const at = line.sectionRowIndex;
    const last = this.body.rows.length - 1;
    const buttons = [...line.querySelectorAll("button")];
    const beside = buttons.indexOf(event.target);
    const moves = {
      ArrowDown: () => (at < last ? this.focusOn(at + 1, beside) : this.page < this.pages - 1 && this.turn(this.page + 1, 0)),
      ArrowUp: () => (at > 0 ? this.focusOn(at - 1, beside) : this.page > 0 && this.turn(this.page - 1, this.size - 1)),
      ArrowRight: () => this.focusOn(at, Math.min(beside + 1, buttons.length - 1)),
      ArrowLeft: () => this.focusOn(at, Math.max(beside - 1, 0)),
      Home: () => this.focusOn(0, beside),
      End: () => this.focusOn(last, beside),
      PageDown: () => this.page < this.pages - 1 && this.turn(this.page + 1, 0),
      PageUp: () => this.page > 0 && this.turn(this.page - 1, 0),
    };
    if (moves[event.key]) {
      event.preventDefault();
      moves[event.key]();
    }
  }

  focusOn(at, beside) {
    const line = this.body.rows[Math.min(at, this.body.rows.length - 1)];
    const buttons = line ? line.querySelectorAll("button") : [];
    const button = buttons[Math.min(beside, buttons.length - 1)];
    if (!button) return;
    this.body.querySelectorAll('button[tabindex="0"]').forEach((other) => { other.tabIndex = -1; });
    button.tabIndex = 0;
    button.focus();
  }

  focusRow(row) {
    const at = this.picked.indexOf(row);
    if (at < 0) return;
    if (!this.whole && Math.floor(at / this.size) !== this.page) this.turn(Math.floor(at / this.size));
    const line = [...this.body.rows].find((one) => Number(one.dataset.row) === row);
    const button = line && line.querySelector("button.origin");
    if (button) this.focusOn(line.sectionRowIndex, [...line.querySelectorAll("button")].indexOf(button));
  }
}
