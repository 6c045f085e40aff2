// Opening: the answer and the first rows are there already; what follows draws the map.

const PHONE = matchMedia("(max-width: 760px)");

function wholeBox() {
  const box = L.latLngBounds([]);
  for (const site of study.sites) if (site.box.isValid()) box.extend(site.box);
  return box.isValid() ? box : L.latLngBounds([[-0.01, -0.01], [0.01, 0.01]]);
}

function showWhole(map, box) {
  map.invalidateSize(false);
  const leader = study.sites[chosen].at;
  if (PHONE.matches && leader) map.setView(leader, 17.5, { animate: false });
  else map.fitBounds(box.pad(0.04), { animate: false });
}

function makeMap() {
  const map = L.map("map", {
    attributionControl: false, zoomControl: false, keyboard: false, zoomSnap: 0.25, zoomDelta: 0.5, wheelPxPerZoomLevel: 120,
    minZoom: 8, maxZoom: 21, zoomAnimation: false, fadeAnimation: false, markerZoomAnimation: false,
    inertia: !matchMedia("(prefers-reduced-motion: reduce)").matches,
    // On a phone one finger scrolls the page; the map is panned with the zoom buttons and two fingers.
    tapHold: false,
  });
  map.on("click", (event) => {
    const i = parcelAt(event.latlng);
    if (i >= 0 && i !== chosen) choose(i, { from: "map" });
  });
  byId("zoom-in").addEventListener("click", () => map.zoomIn());
  byId("zoom-out").addEventListener("click", () => map.zoomOut());
  return map;
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
    const { layer } = event.target.dataset, isOn = event.target.checked;
    if (GROUND[layer]) GROUND[layer][isOn ? "addTo" : "removeFrom"](map);
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
  const refit = () => { map.invalidateSize(false); map.fitBounds(box.pad(0.04), { animate: false }); };
  addEventListener("beforeprint", refit);
  addEventListener("afterprint", () => showWhole(map, box));
}

function fitAnswer() {
  const length = byId("answer").textContent.length;
  if (!PHONE.matches) byId("answer").className = length > 82 ? "longer" : length > 70 ? "long" : "";
}

function sayFailure(error) {
  const note = byId("opening");
  note.textContent = "The map could not be drawn. The answer and the first rows of the table are complete. " +
    "Open the file in a browser from 2023 or later to see the map. (" + error.message + ")";
  note.setAttribute("role", "alert");
  note.hidden = false;
}

async function start() {
  study = await readStudy();
  units = study.units;
  fitAnswer();
  study.sites.forEach(prepare);
  const map = makeMap(), box = wholeBox();
  drawRanking();
  makeOver(map);
  makeGrid(box);
  showWhole(map, box);
  drawGround(map);
  drawParcels(map);
  drawPads();
  drawMarks();
  drawLettering();
  drawMargin();
  drawInset(box);
  drawWhy();
  setUnits(units);
  markStops();
  listenToKeys();
  listenToViews();
  listenToLayers(map);
  listenToPaper(map, box);
  byId("opening").hidden = true;
  document.documentElement.dataset.drawn = "yes";
}

start().catch(sayFailure);
