// The quiet sheet: one path a kind on one canvas, however many shapes it has.

const GROUND = {}; // kind to Leaflet layer
// Small things only come from a scale on which they can be told apart, in metres a pixel.
const GROUND_FROM = { contours: 0.7, index_contours: 2, trees: 2.6, paths: 1.4, fences: 1.4, streets: 12, buildings: 6, lots: 3 };

function drawGround(map) {
  const pane = map.createPane("ground");
  pane.style.zIndex = 250;
  pane.style.pointerEvents = "none";
  const canvas = L.canvas({ pane: "ground", padding: 0.3 });
  const area = (kind, options) => {
    const shapes = study.ground[kind];
    if (!shapes || !shapes.length) return;
    GROUND[kind] = L.polygon(unstepAll(shapes), {
      renderer: canvas, interactive: false, fillOpacity: 1, weight: 1, smoothFactor: 0.7, ...options,
    }).addTo(map);
  };
  const line = (kind, options) => {
    const shapes = study.ground[kind];
    if (!shapes || !shapes.length) return;
    GROUND[kind] = L.polyline(shapes.map(unstep), { renderer: canvas, interactive: false, ...options }).addTo(map);
  };
  area("lots", { fill: false, color: token("--lot") });
  area("parks", { fillColor: token("--park"), stroke: false });
  area("woods", { fillColor: token("--woods"), color: token("--woods-mark"), weight: 0.8 });
  line("contours", { color: token("--contour"), weight: 0.6, opacity: 0.8 });
  line("index_contours", { color: token("--contour"), weight: 1 });
  area("water", { fillColor: token("--water"), color: token("--water-edge"), weight: 1.2 });
  area("streets", { fillColor: token("--street"), color: token("--street-edge"), weight: 1.5 });
  line("paths", { color: token("--rule-strong"), weight: 0.9, dashArray: "4 3" });
  area("playgrounds", { fillColor: token("--park"), color: token("--park-text"), weight: 1 });
  area("buildings", { fillColor: token("--building"), color: token("--building-edge"), weight: 0.8 });
  area("trees", { fillColor: token("--woods"), color: token("--woods-mark"), weight: 0.8, fillOpacity: 0.8 });
  line("fences", { color: token("--ink-3"), weight: 1, dashArray: "1 3" });
  area("easements", { fill: false, color: token("--ink-2"), weight: 1, dashArray: "7 3 1 3" });
  over.drawers.push(() => showGround(map));
}

function showGround(map) {
  let isNew = false;
  for (const [kind, layer] of Object.entries(GROUND)) {
    const isOn = !hidden.has(kind.replace("index_", "")) && over.metresPerPixel <= (GROUND_FROM[kind] || Infinity);
    if (isOn === map.hasLayer(layer)) continue;
    layer[isOn ? "addTo" : "removeFrom"](map);
    isNew ||= isOn;
  }
  // What comes back lies on top: put all in their order again, streets over contours.
  if (isNew) for (const layer of Object.values(GROUND)) if (map.hasLayer(layer)) layer.bringToFront();
}
