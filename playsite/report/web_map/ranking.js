// The table: ranked sites first, then every other parcel with its reason. The map says the same.

const AT_ONCE = 60, MORE = 20;
const table = { sites: [], rows: new Map(), shown: 0, group: null, states: null };

function drawRanking() {
  const more = byId("more"), all = el("button", { type: "button", class: "btn", id: "more-all" });
  more.after(" ", all);
  more.addEventListener("click", () => showMoreRows(table.shown + MORE));
  all.addEventListener("click", () => showMoreRows(table.sites.length));
  drawRows();
}

// Where the last rows come the button goes, and the keyboard stands on the first of them.
function showMoreRows(count) {
  const first = table.sites[table.shown];
  showRows(count);
  if (byId("more").hidden) table.rows.get(first.place).querySelector("button").focus();
}

function drawRows() {
  const { length } = sitesInTable();
  table.shown = length <= AT_ONCE ? length : MORE;
  table.states = null;
  fillRanking();
}

function sitesInTable() {
  return mine.place < 0 ? study.sites : study.sites.filter(isMine);
}

// As many rows as were shown, in the order of now: a row of a ranked site is given its new site.
function fillRanking() {
  const count = table.shown;
  table.sites = sitesInTable();
  if (table.sites === study.sites && statesOf(count) === table.states) {
    for (const [i, row] of table.rows) if (study.sites[i].status === RANKED) dressRow(row, study.sites[i], i);
    return;
  }
  document.querySelector("#ranking tbody").replaceChildren();
  Object.assign(table, { rows: new Map(), shown: 0, group: null });
  showRows(count);
}

function statesOf(count) {
  return table.sites.slice(0, count).map((site) => site.status).join("");
}

function showRows(count) {
  const body = document.querySelector("#ranking tbody"), parts = [];
  for (; table.shown < Math.min(count, table.sites.length); table.shown++) {
    const site = table.sites[table.shown], { place } = site;
    if (site.status !== RANKED && site.status !== table.group) parts.push(groupRow(site.status));
    table.group = site.status;
    const row = site.status === RANKED ? dressRow(emptyRow(place), site, place) : tableRow(site, place);
    table.rows.set(place, row);
    parts.push(row);
  }
  table.states = statesOf(table.shown);
  body.append(...parts);
  for (const id of ["more", "more-all"]) byId(id).hidden = table.shown >= table.sites.length;
  byId("more-all").textContent = say("Show all {0}", number(table.sites.length));
}

function groupRow(status) {
  const count = table.sites.filter((site) => site.status === status).length;
  return el("tr", { class: "group" }, el("th", { colspan: 3, scope: "rowgroup" }, `${capital(say(STATES[status]))} (${number(count)})`));
}

function tableRow(site, i) {
  const row = rowOf(i, stateSign(site.status), el("td", { class: "reason" }, site.short || ""));
  return named(row, site, i);
}

function rowOf(i, first, last) {
  const button = el("button", { type: "button" }, el("b", {}), " ", el("bdi", {}));
  const row = el("tr", {}, el("td", {}, first), el("th", { scope: "row" }, button), last);
  row.addEventListener("click", () => choose(i, { from: "table" }));
  return row;
}

function named(row, site, i) {
  const button = row.children[1].firstChild;
  button.firstChild.textContent = say("Site {0}", site.no);
  button.lastChild.textContent = site.name || "";
  button.title = site.name ? siteTitle(site) : "";
  markOn(row, i === chosen);
  return row;
}

function markOn(row, isOn) {
  row.classList.toggle("on", isOn);
  row.children[1].firstChild.setAttribute("aria-pressed", String(isOn));
}

// The row of a ranked site, without one yet.
function emptyRow(i) {
  return rowOf(i, el("span", { class: "chip" }), el("td", {}, el("span", { class: "range" }, emptyPlot(), el("b", {}))));
}

function dressRow(row, site, i) {
  const [first, , last] = row.children, [plot, score] = last.firstChild.children, { low, high } = site;
  dressChip(first.firstChild, site);
  first.querySelector(".tie")?.remove();
  if (isTied(site)) first.append(tieMark());
  const [from, to, at] = [low ?? site.score, high ?? site.score, site.score].map((points) => 4 + points);
  plot.setAttribute("aria-label", site.range || say("no range"));
  plot.children[1].setAttribute("d", `M${from} 10H${to}`);
  plot.children[2].setAttribute("d", `M${from} 6v8M${to} 6v8`);
  plot.children[3].setAttribute("cx", at);
  score.textContent = site.score;
  return named(row, site, i);
}

function dressChip(node, site) {
  node.className = "chip " + scoreClass(site.score);
  node.textContent = study.shows_order ? site.rank : "";
  if (study.shows_order) node.removeAttribute("aria-hidden");
  else node.setAttribute("aria-hidden", "true");
  return node;
}

function chip(site) {
  return dressChip(el("span", {}), site);
}

function stateSign(status) {
  const node = sign(STATE_SIGNS[status], 26, 17, say(STATES[status]));
  node.classList.add("state");
  return node;
}

function emptyPlot() {
  return svg("svg", { width: 108, height: 20, viewBox: "0 0 108 20", role: "img" },
    svg("path", { d: "M4 10H104M54 6v8M79 6v8", stroke: "var(--rule)" }),
    svg("path", { stroke: "var(--overprint)", "stroke-width": 2 }),
    svg("path", { stroke: "var(--overprint)", "stroke-width": 1.5 }),
    svg("circle", { cy: 10, r: 4.5, fill: "var(--overprint-deep)", stroke: "#fff", "stroke-width": 1.2 }));
}

function markRow(previous, mayScroll) {
  for (const [i, isOn] of [[previous, false], [chosen, true]]) {
    const row = table.rows.get(i);
    if (row) markOn(row, isOn);
  }
  const row = table.rows.get(chosen), box = byId("tablebox");
  if (!row || !mayScroll || box.scrollHeight <= box.clientHeight) return;
  const top = row.offsetTop - 30, bottom = row.offsetTop + row.offsetHeight;
  if (top < box.scrollTop) box.scrollTop = top;
  else if (bottom > box.scrollTop + box.clientHeight) box.scrollTop = bottom - box.clientHeight;
}
