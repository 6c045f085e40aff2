// The table: ranked sites first, then every other parcel with its reason. The map says the same.

const AT_ONCE = 60, MORE = 20;
const table = { rows: new Map(), shown: 0, group: null };

function drawRanking() {
  table.shown = study.sites.length <= AT_ONCE ? study.sites.length : MORE;
  fillRanking();
  const more = byId("more"), all = el("button", { type: "button", class: "btn" }, say("Show all {0}", number(study.sites.length)));
  const update = () => [more, all].forEach((button) => { button.hidden = table.shown >= study.sites.length; });
  more.after(" ", all);
  more.addEventListener("click", () => { showRows(table.shown + MORE); update(); });
  all.addEventListener("click", () => { showRows(study.sites.length); update(); });
  update();
}

// As many rows as were shown, in the order of now.
function fillRanking() {
  const count = table.shown;
  document.querySelector("#ranking tbody").replaceChildren();
  Object.assign(table, { rows: new Map(), shown: 0, group: null });
  showRows(count);
}

function showRows(count) {
  const body = document.querySelector("#ranking tbody"), parts = [];
  for (; table.shown < Math.min(count, study.sites.length); table.shown++) {
    const site = study.sites[table.shown];
    if (site.status !== RANKED && site.status !== table.group) parts.push(groupRow(site.status));
    table.group = site.status;
    const row = tableRow(site, table.shown);
    table.rows.set(table.shown, row);
    parts.push(row);
  }
  body.append(...parts);
}

function groupRow(status) {
  const count = study.sites.filter((site) => site.status === status).length;
  return el("tr", { class: "group" }, el("th", { colspan: 3, scope: "rowgroup" }, `${capital(say(STATES[status]))} (${number(count)})`));
}

function tableRow(site, i) {
  const isRanked = site.status === RANKED;
  const first = el("td", {});
  if (isRanked) first.append(chip(site), isTied(site) ? tieMark() : "");
  else first.append(stateSign(site.status));
  const button = el("button", { type: "button", "aria-pressed": String(i === chosen) }, el("b", {}, say("Site {0}", site.no)), " ", el("span", {}, site.name || ""));
  if (site.name) button.title = siteTitle(site);
  const row = el("tr", { class: i === chosen ? "on" : "" }, first, el("th", { scope: "row" }, button),
    isRanked ? el("td", {}, el("span", { class: "range" }, rangePlot(site), el("b", {}, String(site.score)))) : el("td", { class: "reason" }, site.short || ""));
  row.addEventListener("click", () => choose(i, { from: "table" }));
  return row;
}

function chip(site) {
  const node = el("span", { class: "chip " + scoreClass(site.score) }, study.shows_order ? String(site.rank) : "");
  if (!study.shows_order) node.setAttribute("aria-hidden", "true");
  return node;
}

function stateSign(status) {
  const node = sign(STATE_SIGNS[status], 26, 17, say(STATES[status]));
  node.classList.add("state");
  return node;
}

function rangePlot(site) {
  const at = (points) => 4 + points;
  const low = at(site.low ?? site.score), high = at(site.high ?? site.score);
  return svg("svg", { width: 108, height: 20, viewBox: "0 0 108 20", role: "img", "aria-label": site.range || say("no range") },
    svg("path", { d: "M4 10H104M54 6v8M79 6v8", stroke: "var(--rule)" }),
    svg("path", { d: `M${low} 10H${high}`, stroke: "var(--overprint)", "stroke-width": 2 }),
    svg("path", { d: `M${low} 6v8M${high} 6v8`, stroke: "var(--overprint)", "stroke-width": 1.5 }),
    svg("circle", { cx: at(site.score), cy: 10, r: 4.5, fill: "var(--overprint-deep)", stroke: "#fff", "stroke-width": 1.2 }));
}

function markRow(previous, mayScroll) {
  for (const [i, isOn] of [[previous, false], [chosen, true]]) {
    const row = table.rows.get(i);
    if (!row) continue;
    row.classList.toggle("on", isOn);
    row.querySelector("button").setAttribute("aria-pressed", String(isOn));
  }
  const row = table.rows.get(chosen), box = byId("tablebox");
  if (!row || !mayScroll || box.scrollHeight <= box.clientHeight) return;
  const top = row.offsetTop - 30, bottom = row.offsetTop + row.offsetHeight;
  if (top < box.scrollTop) box.scrollTop = top;
  else if (bottom > box.scrollTop + box.clientHeight) box.scrollTop = bottom - box.clientHeight;
}
