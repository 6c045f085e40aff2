// Opening: the answer and the first rows are there already; what follows draws the map.

const PAPER = { width: "584px", height: "451px" }; // as print.css leaves room for it
const ON_FIRST_SHEET = 8, MOST_ON_PAPER = 150;
let beforePaper = null;
const PHONE = matchMedia("(max-width: 880px)");

function wholeBox() {
  const box = L.latLngBounds([]);
  for (const site of study.sites) if (site.box.isValid()) box.extend(site.box);
  return box.isValid() ? box : L.latLngBounds([[-0.01, -0.01], [0.01, 0.01]]);
}

// The whole study; where pads would be too small to see, the part around the leader, and the inset
// shows the rest. On a phone always the leader.
function showFirst(map, box) {
  map.invalidateSize(false);
  map.fitBounds(box.pad(0.04), { animate: false });
  const leader = study.sites[chosen].at, few = study.sites.filter((site) => site.status === RANKED).length <= ALL_LETTERED;
  const metresPerPixel = (40075017 * Math.cos((box.getCenter().lat * Math.PI) / 180)) / 2 ** (map.getZoom() + 8);
  if (!leader || !(PHONE.matches || (few && metresPerPixel > PADS_FROM_METRES_PER_PIXEL))) return;
  const closer = Math.log2(metresPerPixel / (PHONE.matches ? 0.75 : 1.1));
  map.setView(leader, map.getZoom() + Math.max(0, Math.floor(closer * 4) / 4), { animate: false });
  if (!PHONE.matches) map.panInsideBounds(box.pad(0.04), { animate: false });
}

function makeMap() {
  if (timesLarger() > 1) L.Browser.retina = true; // the ground's canvas is drawn fine enough to be grown
  const map = L.map("map", {
    attributionControl: false, zoomControl: false, keyboard: false, zoomSnap: 0.25, zoomDelta: 0.5, wheelPxPerZoomLevel: 120,
    minZoom: 8, maxZoom: 21, zoomAnimation: false, fadeAnimation: false, markerZoomAnimation: false,
    inertia: !matchMedia("(prefers-reduced-motion: reduce)").matches,
  });
  map.on("click", (event) => {
    const i = parcelAt(event.latlng);
    if (i >= 0 && i !== chosen) choose(i, { from: "map" });
  });
  byId("zoom-in").addEventListener("click", () => zoomBy(map, 0.5));
  byId("zoom-out").addEventListener("click", () => zoomBy(map, -0.5));
  return map;
}

// About the chosen site where it is in view: people want to see that one closer.
function zoomBy(map, levels) {
  const { at } = study.sites[chosen], isSeen = at && map.getBounds().contains(at);
  map.setZoomAround(isSeen ? at : map.getCenter(), map.getZoom() + levels, { animate: false });
  if (isSeen && levels > 0 && !map.getBounds().pad(-0.2).contains(at)) map.panTo(at, { animate: false });
}

function listenToLayers(map) {
  const button = byId("layers-open"), list = byId("layer-list");
  const open = (isOpen) => {
    list.hidden = !isOpen;
    button.setAttribute("aria-expanded", String(isOpen));
  };
  button.addEventListener("click", () => open(list.hidden));
  list.parentElement.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || list.hidden) return;
    open(false);
    button.focus();
  });
  list.addEventListener("change", (event) => {
    if (event.target.id === "sun") return;
    const { layer } = event.target.dataset, isOn = event.target.checked;
    if (isOn) hidden.delete(layer);
    else hidden.add(layer);
    redraw();
  });
}

function listenToPaper(map, box) {
  const about = byId("about");
  byId("about-open").addEventListener("click", () => about.showModal());
  byId("about-close").addEventListener("click", () => about.close());
  byId("print").addEventListener("click", () => print());
  // The map is made anew for the sheet before the browser lays it out; then back as it was.
  const view = byId("map");
  addEventListener("beforeprint", () => {
    byId("second").replaceChildren(...secondSheet());
    showChosen();
    beforePaper = { centre: map.getCenter(), zoom: map.getZoom() };
    Object.assign(view.style, PAPER);
    map.invalidateSize(false);
    map.fitBounds(box.pad(0.04), { animate: false });
  });
  addEventListener("afterprint", () => {
    byId("second").replaceChildren();
    Object.assign(view.style, { width: "", height: "" });
    map.invalidateSize(false);
    if (beforePaper) map.setView(beforePaper.centre, beforePaper.zoom, { animate: false });
  });
}

// "#site=4&units=metres&weights=shade:12": a link to one site, to one's own weights. A notebook's frame has no address to keep it in.
function readAddress() {
  const asked = new URLSearchParams(location.hash.slice(1));
  const i = study.sites.findIndex((site) => String(site.no) === asked.get("site"));
  if (i >= 0) chosen = i;
  if (asked.has("units")) units = asked.get("units") === "feet" ? 0 : 1;
  return asked;
}

// Another link put into the same window is opened as a page of its own; the way past the map is no link.
function listenToAddress() {
  addEventListener("hashchange", () => { if (location.hash.includes("=")) location.reload(); });
  document.querySelector(".skip").addEventListener("click", (event) => {
    event.preventDefault();
    byId("views").focus();
  });
}

function keepAddress() {
  try {
    const own = isOwn() ? "&weights=" + weightsInAddress() : "";
    history.replaceState(null, "", `#site=${study.sites[chosen].no}&units=${units ? "metres" : "feet"}${own}`);
  } catch (error) {
    if (error.name !== "SecurityError") throw error;
  }
}

// Rows of the table that the first sheet has no room for; of very many parcels those that are ranked.
function secondSheet() {
  const rows = study.sites.slice(0, study.sites.length <= AT_ONCE ? study.sites.length : Math.min(study.ranked, MOST_ON_PAPER));
  const groups = new Set(rows.map((site) => site.status)).size - 1;
  if (rows.length + groups <= ON_FIRST_SHEET) return [];
  // A sheet by itself too says whose weights these are.
  const head = el("p", {}, el("b", {}, document.title), isOwn() ? [", ", el("b", {}, byId("own").textContent)] : "", ". ", byId("survey").textContent);
  return [head, ...rows.map((site) => el("div", {}, site.status === RANKED ? chip(site) : stateSign(site.status), el("b", {}, say("Site {0}", site.no)), el("bdi", {}, site.name || ""),
    el("span", {}, site.status === RANKED ? [String(site.score), site.range ? ", " + site.range : ""] : site.short)))];
}

function fitAnswer() {
  const length = byId("answer").textContent.length;
  if (!PHONE.matches) byId("answer").className = length > 82 ? "longer" : length > 70 ? "long" : "";
}

function sayFailure(error) {
  const note = byId("opening");
  note.textContent = say("The map could not be drawn. The answer and the first rows of the table are complete. Open the file in a browser from 2023 or later to see the map.") + ` (${error.message})`;
  note.setAttribute("role", "alert");
  note.hidden = false;
}

async function start() {
  study = await readStudy();
  study.sites = readLots(study);
  units = study.units;
  chosen = study.first;
  const asked = readAddress();
  keepGiven();
  readWeights(asked.get("weights"));
  const here = study.sites[chosen];
  scoreSites();
  chosen = here.place;
  const map = makeMap(), box = wholeBox();
  drawDistricts();
  drawRanking();
  // What a browser ticked again after a reload holds too.
  for (const box of document.querySelectorAll("[data-layer]:not(:checked)")) hidden.add(box.dataset.layer);
  makeOver(map);
  over.grounds.push(placeDistrict);
  makeGrid(box);
  showFirst(map, box);
  drawGround(map);
  drawParcels(map);
  drawGrades();
  drawPads();
  drawMarks();
  drawWater();
  drawShades();
  drawLettering();
  drawMargin();
  drawInset(box);
  drawDistances(map);
  drawWhy();
  drawPriorities();
  showAnswer();
  showPriorities();
  drawComparing();
  showComparing();
  setUnits(units);
  whenItRests();
  markStops();
  listenToKeys();
  listenToViews();
  listenToAddress();
  listenToLayers(map);
  listenToPaper(map, box);
  byId("opening").hidden = true;
  document.documentElement.dataset.drawn = "yes";
}

start().catch(sayFailure);
