// Choosing a parcel, by pointer or by keyboard. The map is one stop: arrows walk, Enter opens, Esc leaves.

let cameFrom = null; // where the card gives focus back to
let beforeMap = null; // where the map gives focus back to

function choose(i, { from }) {
  const previous = chosen;
  chosen = i;
  showChosen();
  markRow(previous, from !== "table");
  bringIntoView();
  markStops();
  byId("live").textContent = inWords(study.sites[i]);
  keepAddress();
}

function showChosen() {
  const site = study.sites[chosen];
  showCard(site);
  showVerdict(site);
}

function bringIntoView() {
  const { at } = study.sites[chosen];
  if (at && !over.map.getBounds().pad(-0.1).contains(at)) over.map.panTo(at, { animate: false });
  redraw();
}

function markStops() {
  over.root.querySelectorAll("[data-stop]").forEach((node) => {
    const isOn = Number(node.dataset.stop) === chosen;
    node.setAttribute("tabindex", isOn ? 0 : -1);
    if (isOn) node.setAttribute("aria-current", "true");
    else node.removeAttribute("aria-current");
    node.closest(".pad")?.classList.toggle("on", isOn);
  });
}

function stopOnMap() {
  return over.root.querySelector(`[data-stop="${chosen}"]`);
}

function openCard(from) {
  cameFrom = from;
  byId("card").focus();
}

function walkByKeys(event) {
  if (event.ctrlKey || event.altKey || event.metaKey) return; // the browser's own: larger letters, back
  const last = study.sites.length - 1;
  const to = { ArrowRight: chosen + 1, ArrowDown: chosen + 1, ArrowLeft: chosen - 1, ArrowUp: chosen - 1, Home: 0, End: last }[event.key];
  if (to !== undefined) {
    choose(to < 0 ? last : to > last ? 0 : to, { from: "map" });
    stopOnMap()?.focus({ preventScroll: true });
  } else if (event.key === "Enter" || event.key === " ") {
    showView("ranking");
    openCard("map");
  } else if (event.key === "Escape") {
    (beforeMap?.isConnected ? beforeMap : byId("tab-ranking")).focus();
  } else if (event.key === "+" || event.key === "=") zoomBy(over.map, 0.5);
  else if (event.key === "-") zoomBy(over.map, -0.5);
  else return;
  event.preventDefault();
}

function listenToKeys() {
  const map = byId("map");
  map.addEventListener("keydown", walkByKeys);
  map.addEventListener("focusin", ({ relatedTarget: from }) => {
    if (from && !map.contains(from) && from !== byId("card")) beforeMap = from; // the card was opened from here
  });
  byId("verdict").addEventListener("keydown", (event) => { if (event.key === "Escape") byId("find").focus(); });
  byId("card").addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    const row = table.rows.get(chosen)?.querySelector("button");
    if (cameFrom?.role === "tab") cameFrom.click(); // back to the view it was opened from
    (cameFrom === "map" ? stopOnMap() : cameFrom || row || byId("tab-ranking"))?.focus();
    cameFrom = null;
  });
}

const VIEWS = ["ranking", "priorities", "compare", "why", "distances"];

function showView(name) {
  for (const view of VIEWS) {
    byId("view-" + view).hidden = view !== name;
    byId("tab-" + view).setAttribute("aria-selected", String(view === name));
    byId("tab-" + view).tabIndex = view === name ? 0 : -1;
  }
  byId("tab-" + name).scrollIntoView({ block: "nearest", inline: "nearest" }); // on a phone the row of tabs slides
  byId("map").classList.toggle("asking", name === "distances");
  showChosen();
  showComparing();
  showDistances();
}

function listenToViews() {
  VIEWS.forEach((view) => {
    const tab = byId("tab-" + view);
    tab.addEventListener("click", () => showView(view));
    tab.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key] * (FROM_RIGHT ? -1 : 1);
      if (!step) return;
      const shown = VIEWS.filter((each) => !byId("tab-" + each).hidden);
      const next = shown[(shown.indexOf(view) + step + shown.length) % shown.length];
      showView(next);
      byId("tab-" + next).focus();
    });
  });
}
