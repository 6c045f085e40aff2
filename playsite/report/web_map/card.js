// The card of a parcel, ranked or not: conditions first, then the score, then what was measured.

function showCard(site) {
  const square = squareOf(site);
  byId("card").replaceChildren(
    el("h2", {}, siteTitle(site)),
    el("p", { class: "sub" }, standing(site), isTied(site) ? tieMark() : "", square ? ". " + say("Map square {0}.", square) : "."),
    ...(site.conditions || []).map((words) => el("p", { class: "conditions" }, said(words))),
    topOf(site), ...besideOf(site), ...firmOf(site), ...residentsOf(site), ...wouldOf(site), ...bestAndWorst(site), ...unknownsOf(site), ...lowSpotsOf(site), el("div", { class: "cost" }, paragraphs(say("Cost, beside the score"), site.cost)),
    // What follows has no room on the one sheet of paper.
    el("div", { class: "onscreen" }, measuredOf(site), slopesOf(site), roomOf(site), paragraphs(say("Earthwork"), site.earth), (site.drawings || []).map(drawn), paragraphs(say("Storms"), site.storms), paragraphs(say("Who would gain"), site.need), ledgerOf(site)));
}

function tieMark() {
  const mark = sign("m-tie", 20, 16, say("too close to call"));
  mark.classList.add("tie");
  return mark;
}

function topOf(site) {
  const facts = el("div", { class: "facts" });
  if (site.status === RANKED) {
    facts.append(el("div", {}, ...sayNodes("{0} of 100", el("span", { class: "big" }, String(site.score))), site.range ? ", " + site.range : ""));
    if (site.known) facts.append(el("div", {}, ...sayNodes("{0} of the weight is known", el("b", {}, site.known))));
  } else {
    facts.append(el("div", {}, said(site.why)));
    if (site.pad.length && site.status !== NOT_ASSESSED) facts.append(el("div", {}, say("Measured at the place that misses by least.")));
  }
  facts.append(el("div", {}, site.area ? say("Lot {0}; ", said(site.area)) : "", say("play area {0}", byId("pad").textContent)));
  return el("div", { class: "top" }, plan(site), facts);
}

function besideOf(site) {
  if (site.status !== RANKED || study.ranked < 2) return [];
  const other = study.sites[site === study.sites[0] ? 1 : 0];
  const button = el("button", { type: "button", class: "btn" }, say("Compare with Site {0}", other.no));
  button.addEventListener("click", () => compareWith(site));
  return [el("p", { class: "tocompare" }, button)];
}

// What must be seen at once; the rest unfolds.
function firmOf(site) {
  if (isOwn() ? site.status !== RANKED || !study.shows_order : !site.firm?.[0].length) return [];
  const head = el("h3", {}, say("How firm is this?"));
  if (isOwn()) return [head, el("p", { class: "firm" }, el("b", {}, say("With your own weights, worked out on this page.")), sureOf(site).map((words) => " " + words))];
  const [short, more] = site.firm;
  const all = site.rank === 1 ? [...more, ...study.firm.said.filter((words) => !more.includes(words))] : more;
  return [head, ...short.map((words) => el("p", { class: "firm" }, words)),
    el("details", { class: "firm" }, el("summary", {}, say("What would change it")), el("ul", {}, all.map((words) => el("li", {}, words))))];
}

function residentsOf(site) {
  if (!site.residents) return [];
  const own = (site.comments || []).map(([about, text]) => el("li", {}, about ? el("i", {}, say(about) + ": ") : "", text));
  return [el("p", { class: "firm" }, site.residents), own.length ? el("details", { class: "firm" }, el("summary", {}, say("What they wrote")), el("ul", {}, own)) : ""];
}

// Lot and play area to scale, north up.
function plan(site) {
  const node = svg("svg", { class: "plan", viewBox: "0 0 128 98", role: "img", "aria-label": say("Plan of {0}: the lot and the play area, to scale", siteTitle(site)) });
  if (!site.box.isValid()) return node;
  const box = site.box.pad(0.08), centre = box.getCenter();
  const squeeze = Math.cos((centre.lat * Math.PI) / 180);
  const scale = Math.min(128 / ((box.getEast() - box.getWest()) * squeeze), 98 / (box.getNorth() - box.getSouth()));
  const path = (polygons) => polygons.map((rings) => rings.map((ring) => ring.map(([lat, lng], i) =>
    (i ? "L" : "M") + (64 + (lng - centre.lng) * squeeze * scale).toFixed(1) + " " + (49 - (lat - centre.lat) * scale).toFixed(1)).join("") + "Z").join("")).join("");
  const style = PARCEL_STYLE[site.status];
  node.append(svg("path", { d: path(site.parcel), fill: site.status === RANKED ? "var(--overprint-wash)" : "var(--sheet)", stroke: `var(${style.color})`, "stroke-width": 1.4, "stroke-dasharray": style.dashArray, "stroke-linecap": "round" }));
  if (site.others.length) node.append(svg("path", { class: "other", d: path(site.others) }));
  if (site.ghost.length) node.append(svg("path", { class: "ghost", d: path(site.ghost) }));
  if (site.pad.length && site.status === RANKED) node.append(svg("path", { class: scoreClass(site.score), d: path(site.pad), fill: "var(--c)", stroke: "var(--overprint-deep)" }));
  else if (site.pad.length) node.append(svg("path", { class: "ghost", d: path(site.pad) }));
  return node;
}

function bestAndWorst(site) {
  const rows = (site.measured || []).filter((row) => row[2] !== null && weights.own[row[0]] > 0).sort((a, b) => b[2] - a[2]);
  const best = rows.filter((row) => row[2] >= 75).slice(0, 3), worst = rows.filter((row) => row[2] < 75).slice(-3).reverse();
  if (!(best.length + worst.length)) return [];
  const list = (title, some) => some.length && el("div", {}, el("h3", {}, title), el("ul", { class: "marked" }, some.map((row) =>
    el("li", {}, sign("m-" + WORDS[row[3]], 14), el("b", {}, say(WORDS[row[3]])), ": ", said(study.criteria[row[0]].plain), ", ", textAt(row[1])))));
  return [el("div", { class: "two" }, [list(say("Strengths"), best), list(say("Weaknesses"), worst)].filter(Boolean))];
}

function unknownsOf(site) {
  if (!site.tasks) return [];
  const rest = el("span", { class: "onpaper" }, " ", say("({0} in all, here the first)", site.tasks.length)); // a sheet has no room for every one
  return [el("h3", {}, say("Not known yet"), site.tasks.length > 1 ? rest : ""), el("ul", { class: "marked unknowns" }, site.tasks.map((task) => {
    const [what, todo] = said(task).split("\n");
    return el("li", {}, sign("m-unknown", 14), what, ". ", el("i", {}, todo));
  }))];
}

// Those that are not sure enough to be drawn too: somebody has to look.
function lowSpotsOf(site) {
  if (!site.low_spots) return [];
  return [el("div", { class: "onscreen" }, el("h3", {}, say("Low spots near the play area")), el("ul", {}, site.low_spots.map((words) => el("li", {}, said(words)))))];
}

function measuredOf(site) {
  if (!site.measured) return study.is_light && site.steps.pad ? [el("p", {}, say("What was measured here stands in measurements.csv: this page has room for the foremost sites."))] : [];
  const box = el("div", { class: "measured" });
  for (const [group, ks] of criteriaByGroup()) {
    const rows = site.measured.filter((row) => ks.includes(row[0]));
    if (rows.length) box.append(el("p", { class: "group" }, say(group)), ...rows.map((row) => measure(site, row, study.criteria[row[0]])));
  }
  return [el("h3", {}, site.status === RANKED ? say("What was measured at the play area") : say("What was measured there")), box];
}

function measure(site, [k, value, points, word, note, interval, origin, source, how, straight], criterion) {
  const more = [[say("Score"), points === null ? say("unknown; counts from 0 to 100") : say("{0} of 100; {1} of the weight", points, shareOf(k))],
    [say("Likely"), textAt(interval)], [say("From"), textAt(origin)], [say("How"), textAt(how) || said(criterion.method)], [say("Source"), textAt(source)]];
  const node = el("details", {},
    el("summary", {}, el("span", {}, said(criterion.plain), textAt(note) ? el("small", {}, textAt(note)) : ""), el("b", {}, textAt(value), textAt(straight) ? el("small", {}, textAt(straight)) : ""),
      el("span", { class: "word" }, sign("m-" + WORDS[word], 14), say(WORDS[word]))),
    el("dl", {}, more.filter(([, words]) => words).map(([name, words]) => [el("dt", {}, name), el("dd", {}, words)])));
  // Drawn when it is asked for: a card has thirty of them.
  if (study.reads[k] && site.row !== undefined) node.addEventListener("toggle", () => node.querySelector("figure") || node.append(curveOf(criterion, k, [site])));
  return node;
}

// In which shape it fits, or which one change would let it.
function wouldOf(site) {
  const words = [site.shape, ...(site.would || [])].filter(Boolean);
  return words.map((text) => el("p", { class: "would" }, said(text)));
}

// The layer of the map as a list, for those who can't see it.
function slopesOf(site) {
  if (!site.slopes) return [];
  return [el("h3", {}, say("Slope over the lot, at the scale of a play area")), el("ul", {}, site.slopes.map((words) => el("li", {}, words)))];
}

function roomOf(site) {
  if (!site.rooms) return [];
  return [el("h3", {}, say("Room at the sides of the play area")), el("ul", {}, site.rooms.map(([words]) => el("li", {}, textAt(words))))];
}

function paragraphs(head, told) {
  return told ? [el("h3", {}, head), ...told.map((words) => el("p", {}, said(words)))] : [];
}

// Of a drawing the shapes come once, the letters in feet and in metres.
function drawn([size, shapes, letters, seen, finding, key]) {
  const whole = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${size}">${shapes}${said(letters)}</svg>`;
  const picture = document.importNode(new DOMParser().parseFromString(whole, "image/svg+xml").documentElement, true);
  for (const [name, value] of Object.entries({ class: "drawing", role: "img", "aria-label": said(seen) })) picture.setAttribute(name, value);
  return el("figure", { class: "drawn" }, picture, el("figcaption", {}, el("b", {}, said(finding)), " ", said(key)));
}

function ledgerOf(site) {
  if (!site.ledger) return [];
  const rows = site.ledger.map(([rule, area]) => el("tr", {}, el("td", {}, textAt(rule)), el("td", {}, textAt(area))));
  return [el("h3", {}, say("What was taken off the lot first")), el("table", { class: "ledger" }, el("tbody", {}, rows))];
}
