// Where water stands, which way it runs, and heights on the contours round the pads.

// By how sure they are: 90 % and more, 75 to 89, 60 to 74; stipple where nothing can be told.
const RINGS = ["p90", "p75", "p60", "untold"], TICKED = 2, UNTOLD = 3;
const TICK_PX = 4, TICK_EVERY_PX = 9, LEAST_RING_PX = 5, TICKED_FROM_PX = 24, NAMED_FROM_PX = 26, HALF_ARROW_PX = 7, HEAD_PX = 4;

function drawWater() {
  over.low = study.low_spots.map(([short, words, shape, step]) => ({ short, words, shape: unstepAll(shape), step }))
    .filter((spot) => spot.shape.length)
    .map((spot) => ({ ...spot, box: L.latLngBounds(spot.shape.flat(1).flat(1)) }));
  over.drawers.push(placeLowSpots, placeFlow);
}

// The old sign of a hollow: a closed ring, with ticks pointing in where it is likely enough.
function placeLowSpots() {
  const group = over.groups.low;
  group.replaceChildren();
  if (hidden.has("low")) return;
  const rings = RINGS.map(() => []), ticks = RINGS.map(() => []), named = [];
  for (const spot of over.low) {
    if (!over.view.intersects(spot.box)) continue;
    const width = place(spot.box.getNorthEast()).x - place(spot.box.getSouthWest()).x;
    if (width < LEAST_RING_PX) continue;
    const d = shapePath(spot.shape);
    rings[spot.step].push(d);
    if (width > TICKED_FROM_PX && spot.step < TICKED) {
      for (const polygon of spot.shape) ticks[spot.step].push(ringTicks(polygon[0].map(place)));
    }
    if (width > NAMED_FROM_PX) named.push([spot, d]);
  }
  for (const step of [UNTOLD, 2, 1, 0]) {
    group.append(svg("g", { class: RINGS[step] }, svg("path", { d: rings[step].join("") }), svg("path", { class: "ticks", d: ticks[step].join("") })));
  }
  for (const [spot, d] of named) {
    group.append(svg("path", { class: "told", d }, svg("title", {}, said(spot.words))));
    const low = place(spot.box.getSouthWest()), high = place(spot.box.getNorthEast()), x = (low.x + high.x) / 2;
    const text = said(spot.short), width = widthOf(text, 11);
    const y = [low.y + 9, high.y - 9].find((own) => !crossesLine(x, own, width, 11) && isFree(x, own, width, 11));
    if (y !== undefined) group.append(svg("text", { x, y: y + 3 }, text));
  }
}

function ringTicks(ring) {
  let doubled = 0;
  for (let i = 1; i < ring.length; i++) doubled += ring[i - 1].x * ring[i].y - ring[i].x * ring[i - 1].y;
  const inward = doubled > 0 ? 1 : -1;
  let left = TICK_EVERY_PX / 2, d = "";
  for (let i = 1; i < ring.length; i++) {
    const a = ring[i - 1], b = ring[i], length = a.distanceTo(b);
    for (let at = left; at < length; at += TICK_EVERY_PX) {
      const x = a.x + ((b.x - a.x) * at) / length, y = a.y + ((b.y - a.y) * at) / length;
      const nx = (-(b.y - a.y) / length) * inward * TICK_PX, ny = ((b.x - a.x) / length) * inward * TICK_PX;
      d += `M${x.toFixed(1)} ${y.toFixed(1)}l${nx.toFixed(1)} ${ny.toFixed(1)}`;
    }
    left = (((left - length) % TICK_EVERY_PX) + TICK_EVERY_PX) % TICK_EVERY_PX;
  }
  return d;
}

// Arrows keep their size on the screen; heights stand on the contours where nothing else is written.
function placeFlow() {
  const group = over.groups.flow;
  group.replaceChildren();
  if (over.metresPerPixel > PLAN_FROM_METRES_PER_PIXEL) return;
  for (const site of study.sites) {
    if (!site.at || !isInView(site)) continue;
    if (!hidden.has("flow") && site.arrows) group.append(svg("path", { class: "flow", d: site.arrows.map(arrowPath).join("") }));
    if (!hidden.has("contours")) for (const [words, ...flat] of site.heights || []) placeHeight(group, textAt(words), place(unstep(flat)[0]));
  }
}

function arrowPath(flat) {
  const [from, to] = unstep(flat).map(place), long = from.distanceTo(to);
  if (!long) return "";
  const x = (to.x - from.x) / long, y = (to.y - from.y) / long;
  const tip = L.point((from.x + to.x) / 2 + x * HALF_ARROW_PX, (from.y + to.y) / 2 + y * HALF_ARROW_PX);
  const line = (dx, dy) => `l${dx.toFixed(1)} ${dy.toFixed(1)}`;
  const barb = (side) => `M${tip.x.toFixed(1)} ${tip.y.toFixed(1)}` + line(HEAD_PX * (-x - side * y * 0.7), HEAD_PX * (-y + side * x * 0.7));
  return `M${tip.x.toFixed(1)} ${tip.y.toFixed(1)}` + line(-2 * HALF_ARROW_PX * x, -2 * HALF_ARROW_PX * y) + barb(1) + barb(-1);
}

function placeHeight(group, words, at) {
  if (isFree(at.x, at.y, widthOf(words, 10) + 24, 24)) group.append(svg("text", { class: "height", x: at.x.toFixed(1), y: (at.y + 3.5).toFixed(1) }, words));
}
