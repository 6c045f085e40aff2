// Distances the reader asks for: the walk from home to each site, and a ruler that says what it measures.

const WALKED_M_A_MINUTE = 80; // common practice, no source
const MOST_WALKS = 60;
const marks = { home: null, ruler: [], network: null, walks: new Map() };

function drawDistances(map) {
  for (const name of ["home", "ruler"]) byId("ask-" + name).addEventListener("change", showMarks);
  byId("mark-middle").addEventListener("click", () => addMark(map.getCenter()));
  byId("mark-clear").addEventListener("click", () => {
    if (asksHome()) marks.home = null;
    else marks.ruler = [];
    showMarks();
  });
  document.querySelectorAll("[data-move]").forEach((button) => button.addEventListener("click", () => moveMark(map, button.dataset.move.split(" ").map(Number))));
  // Before any parcel gets the click, and not at the end of a drag.
  byId("map").addEventListener("click", (event) => {
    if (byId("view-distances").hidden || map.dragging.moved()) return;
    event.stopPropagation();
    addMark(map.mouseEventToLatLng(event));
  }, true);
  over.drawers.push(placeMarks);
}

function asksHome() {
  return byId("ask-home").checked;
}

function addMark(at) {
  if (asksHome()) marks.home = at;
  else marks.ruler.push(at);
  showMarks();
}

function moveMark(map, [x, y]) {
  const last = asksHome() ? marks.home : marks.ruler[marks.ruler.length - 1];
  if (!last) return addMark(map.getCenter());
  const moved = map.unproject(map.project(last).add([x * 20, y * 20]));
  if (asksHome()) marks.home = moved;
  else marks.ruler[marks.ruler.length - 1] = moved;
  showMarks();
}

// Spoken is the first sentence, not the whole table.
function showMarks() {
  showDistances();
  byId("live").textContent = byId("distances").querySelector("p").textContent;
}

// A plane in metres about the middle of the study, true to a hand's breadth within a town.
function onPlane() {
  if (marks.plane) return marks.plane;
  const { lat, lng } = wholeBox().getCenter(), east = (Math.PI / 180) * 6378137 / Math.sqrt(1 - 0.00669438 * Math.sin((lat * Math.PI) / 180) ** 2) * Math.cos((lat * Math.PI) / 180);
  const north = (Math.PI / 180) * 6378137 * (1 - 0.00669438) / (1 - 0.00669438 * Math.sin((lat * Math.PI) / 180) ** 2) ** 1.5;
  return (marks.plane = { to: (point) => [((point.lng ?? point[1]) - lng) * east, ((point.lat ?? point[0]) - lat) * north], back: ([x, y]) => [lat + y / north, lng + x / east] });
}

function walksOnFoot() {
  const { to } = onPlane();
  return (marks.network ||= walkNetwork(study.walks.map(([a, b, tenths, side, ...flat]) => ({ a, b, side, length: tenths / 10, points: unstep(flat).map(to) }))));
}

// The edge of a play area, a place every few metres.
function edgeOf(site) {
  const { to } = onPlane();
  return site.pad.flatMap(([ring]) => ring.map(to)).flatMap((point, i, all) => {
    const next = all[i + 1] || point;
    return [0, 0.2, 0.4, 0.6, 0.8].map((t) => [point[0] + (next[0] - point[0]) * t, point[1] + (next[1] - point[1]) * t]);
  });
}

function straightTo(place, places) {
  return Math.min(...places.map(([x, y]) => Math.hypot(x - place[0], y - place[1])));
}

function joinsOfSite(site) {
  return (site.joins ||= joinsOf(walksOnFoot(), edgeOf(site)));
}

function findWalks() {
  marks.walks = new Map();
  if (!marks.home) return;
  const home = onPlane().to(marks.home), sites = study.sites.slice(0, Math.min(study.ranked, MOST_WALKS)), here = study.sites[chosen];
  if (!sites.includes(here) && here.pad.length) sites.push(here);
  const starts = study.walks.length ? joinsOf(walksOnFoot(), [home]) : [], reach = starts.length ? reachFrom(walksOnFoot(), starts) : null;
  for (const site of sites) {
    if (!site.pad.length) continue;
    const straight = straightTo(home, edgeOf(site));
    marks.walks.set(site, { straight, ...(reach ? walkBetween(reach, starts, joinsOfSite(site)) : null) });
  }
}

function showDistances() {
  if (asksHome() && !byId("view-distances").hidden) findWalks();
  byId("distances").replaceChildren(...(asksHome() ? homeSaid() : rulerSaid()));
  redraw();
}

function homeSaid() {
  if (!marks.home) return [el("p", { class: "note" }, say("Tap your home on the map. It stays on this screen: nothing is saved or sent."))];
  const sorted = [...marks.walks].sort(([, a], [, b]) => (a.length ?? Infinity) - (b.length ?? Infinity) || a.straight - b.straight);
  if (!sorted.length) return [el("p", { class: "note" }, say("No site has a place to walk to."))];
  const rows = sorted.map(([site, walk]) => {
    const button = el("button", { type: "button" }, el("b", {}, say("Site {0}", site.no)), " ", el("bdi", {}, site.name || ""));
    button.addEventListener("click", () => {
      choose(site.place, { from: "distances" });
      over.map.fitBounds(L.latLngBounds([marks.home, site.at]).pad(0.2), { animate: false });
    });
    return el("tr", {}, el("td", {}, site.status === RANKED ? chip(site) : stateSign(site.status)), el("th", { scope: "row" }, button),
      el("td", {}, walk.length === undefined ? say("straight {0}", lengthWords(walk.straight)) : [el("b", {}, say("{0} min", minutesOf(walk))), " ", lengthWords(walk.length)]));
  });
  const how = study.walks.length
    ? say("Along streets and paths as mapped, busy streets crossed where a crossing or another street is; straight over open ground from the nearest street at both ends. At {0} a minute; small children are slower.", lengthWords(WALKED_M_A_MINUTE))
    : say("Straight distances: this page holds no network of ways on foot. The walk is longer.");
  return [el("p", { class: "lever" }, nearestSaid(sorted[0])), el("table", { class: "walks" }, el("caption", { class: "vh" }, say("From the mark to each site, the nearest first")), el("tbody", {}, rows)), el("p", { class: "note" }, how)];
}

function minutesOf({ length }) {
  return Math.max(1, Math.round(length / WALKED_M_A_MINUTE));
}

function nearestSaid([site, walk]) {
  const name = say("Site {0}", site.no);
  return walk.length === undefined ? say("Nearest in a straight line: {0}, {1}.", name, lengthWords(walk.straight)) : say("Nearest on foot: {0}, {1} min.", name, minutesOf(walk));
}

// In a play area a distance goes from its edge; elsewhere from the place itself.
function rulerEnds(from, to) {
  const { to: flat, back } = onPlane(), site = [from, to].map((at) => study.sites.find((one) => one.pad.length && one.box.contains(at) && inside(at, one.pad)));
  const places = [from, to].map((at, i) => (site[i] ? edgeOf(site[i]) : [flat(at)]));
  let best = { length: Infinity };
  for (const a of places[0]) for (const b of places[1]) {
    const length = Math.hypot(a[0] - b[0], a[1] - b[1]);
    if (length < best.length) best = { length, line: [back(a), back(b)] };
  }
  return { ...best, names: site.map((one, i) => (one ? say("the edge of the play area on Site {0}", one.no) : i ? say("the second place") : say("the first place"))) };
}

function rulerSaid() {
  if (marks.ruler.length < 2) return [el("p", { class: "note" }, say("Tap two places or more on the map. Inside a play area the distance goes from its edge."))];
  const legs = marks.ruler.slice(1).map((to, i) => rulerEnds(marks.ruler[i], to)), total = legs.reduce((sum, { length }) => sum + length, 0);
  const told = legs.length === 1 ? say("Straight, level, from {0} to {1}: {2}.", legs[0].names[0], legs[0].names[1], lengthWords(total))
    : say("Straight from place to place, {0} parts, level: {1} in all.", legs.length, lengthWords(total));
  return [el("p", { class: "lever" }, told), el("p", { class: "note" }, say("Neither a walk nor a slope: what lies between and how high it is do not count. Map places are good to about {0}.", lengthWords(Math.max(1, over.metresPerPixel * 3))))];
}

// To 10 ft past 100 ft, else 1 ft; to 1 m, below 10 m one decimal.
function lengthWords(metres) {
  if (units) return (metres < 9.95 ? Math.round(metres * 10) / 10 : number(Math.round(metres))) + " m";
  const feet = metres / FOOT_M;
  return number(feet > 100.5 ? Math.round(feet / 10) * 10 : Math.round(feet)) + " ft";
}

function placeMarks() {
  const group = over.groups.marks, { back } = onPlane();
  group.replaceChildren();
  if (byId("view-distances").hidden) return;
  const dot = (at, words) => {
    const { x, y } = place(at);
    group.append(svg("circle", { cx: x.toFixed(1), cy: y.toFixed(1), r: 6 }), words ? svg("text", { x: x.toFixed(1), y: (y - 12).toFixed(1) }, words) : "");
  };
  if (asksHome() && marks.home) {
    const walk = marks.walks.get(study.sites[chosen]);
    if (walk?.line) {
      const d = ringPath(walk.line.map(back), false);
      group.append(svg("path", { class: "way under", d }), svg("path", { class: "way walk", d }));
    }
    dot(marks.home, say("My home"));
  } else if (!asksHome()) {
    marks.ruler.slice(1).forEach((to, i) => {
      const { line, length } = rulerEnds(marks.ruler[i], to), d = ringPath(line, false), [a, b] = line.map(place);
      group.append(svg("path", { class: "way under", d }), svg("path", { class: "way clear", d: d + endTicks(line.map((at) => L.latLng(at))) }),
        svg("text", { x: ((a.x + b.x) / 2).toFixed(1), y: ((a.y + b.y) / 2 - 8).toFixed(1) }, lengthWords(length)));
    });
    for (const at of marks.ruler) dot(at);
  }
}
