// The whole study in a corner, with all ranked sites and a box for the part that is shown.

const INSET = { width: 160, height: 116, margin: 8 };

function drawInset(box) {
  const node = byId("inset");
  const squeeze = Math.cos((box.getCenter().lat * Math.PI) / 180);
  const scale = Math.min((INSET.width - 2 * INSET.margin) / ((box.getEast() - box.getWest()) * squeeze || 1),
    (INSET.height - 2 * INSET.margin) / (box.getNorth() - box.getSouth() || 1));
  const centre = box.getCenter();
  const at = ([lat, lng]) => [INSET.width / 2 + (lng - centre.lng) * squeeze * scale, INSET.height / 2 - (lat - centre.lat) * scale];
  const path = (polygons) => polygons.map((rings) => rings.map((ring) => thin(ring.map(at))).join("")).join("");
  const kinds = { water: "var(--water)", streets: "var(--street)" };
  for (const [kind, colour] of Object.entries(kinds)) {
    if (study.ground[kind]) node.append(svg("path", { d: path(unstepAll(study.ground[kind])), fill: colour, "fill-rule": "evenodd" }));
  }
  const size = study.ranked > 60 ? 3 : 7; // many would hide one another
  const squares = study.sites.filter((one) => (one.status === RANKED || one.row !== undefined) && one.at).slice(0, 400).map((site) => {
    const [x, y] = at([site.at.lat, site.at.lng]);
    return [site, svg("rect", { x: x - size / 2, y: y - size / 2, width: size, height: Math.min(size, 5), fill: "var(--c)", stroke: "var(--overprint-deep)" })];
  });
  node.append(...squares.map(([, square]) => square));
  const view = svg("rect", { fill: "none", stroke: "var(--ink)", "stroke-width": 1.4 });
  node.append(view);
  over.drawers.push(() => {
    for (const [site, square] of squares) square.setAttribute("class", site.status === RANKED ? scoreClass(site.score) : "out");
  });
  over.grounds.push(() => {
    const shown = over.map.getBounds();
    const isAll = shown.contains(box) || shown.pad(0.05).contains(box);
    node.toggleAttribute("hidden", isAll);
    const [x1, y1] = at([shown.getNorth(), shown.getWest()]), [x2, y2] = at([shown.getSouth(), shown.getEast()]);
    for (const [name, value] of Object.entries({ x: x1, y: y1, width: x2 - x1, height: y2 - y1 })) view.setAttribute(name, value.toFixed(1));
  });
}

// At this size a vertex within half a pixel of the last one says nothing.
function thin(points) {
  let d = "", last = null;
  for (const [x, y] of points) {
    if (last && Math.abs(x - last[0]) + Math.abs(y - last[1]) < 0.7) continue;
    d += (last ? "L" : "M") + x.toFixed(1) + " " + y.toFixed(1);
    last = [x, y];
  }
  return d + "Z";
}
