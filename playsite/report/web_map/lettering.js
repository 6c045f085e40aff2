// Lettering that gives way: streets and water after the pads, reasons last.

function drawLettering() {
  over.streets = study.ground.street_names.map(([name, kind, lines]) => ({
    name, isBig: !/local|residential|service/.test(kind), lines: lines.map(unstep),
  }));
  over.named = Object.entries(study.ground.names).flatMap(([kind, rows]) =>
    rows.map(([name, ...flat]) => ({ kind, name, at: unstep(flat)[0] })));
  over.drawers.push(() => over.groups.letters.replaceChildren(), placeNames, placeStreets, placeReasons);
}

function placeNames() {
  for (const { kind, name, at } of over.named) {
    const p = place(at);
    if (!isFree(p.x, p.y, widthOf(name, 14), 14)) continue;
    over.groups.letters.append(svg("text", { class: "named " + kind, x: p.x, y: p.y + 4 }, name));
  }
}

function placeStreets() {
  if (over.metresPerPixel > 4) return;
  let number = 0;
  for (const { name, isBig, lines } of over.streets) {
    const width = name.length * (isBig ? 6.2 : 5.4);
    for (const line of lines) {
      const run = longestRun(line.map(place));
      if (run.length < 2 || lengthOf(run) < width + 16) continue;
      if (run[0].x > run[run.length - 1].x) run.reverse();
      const start = (lengthOf(run) - width) / 2;
      const middle = alongAt(run, start + width / 2), ends = [alongAt(run, start), alongAt(run, start + width)];
      if (ends[0].distanceTo(ends[1]) < width * 0.93) continue; // bent: letters would pile up
      const spread = { x: Math.abs(ends[0].x - ends[1].x) + 10, y: Math.abs(ends[0].y - ends[1].y) + 10 };
      if (!isFree(middle.x, middle.y, spread.x, spread.y)) continue;
      const id = "street-" + number++;
      const d = run.map((p, i) => (i ? "L" : "M") + p.x.toFixed(1) + " " + p.y.toFixed(1)).join("");
      over.groups.letters.append(svg("path", { id, d, fill: "none" }), svg("text", { class: isBig ? "street big" : "street", dy: 3.2 },
        svg("textPath", { href: "#" + id, startOffset: start.toFixed(1) }, name)));
      break;
    }
  }
}

// The longest part of a line that lies in view, cut at the edges of the map.
function longestRun(points) {
  const frame = L.bounds([6, 6], [over.size.x - 6, over.size.y - 6]);
  let best = [], run = [];
  for (let i = 1; i < points.length; i++) {
    const part = L.LineUtil.clipSegment(points[i - 1], points[i], frame, false, false);
    if (!part) { run = []; continue; }
    if (!run.length || !run[run.length - 1].equals(part[0])) run = [part[0]];
    run.push(part[1]);
    if (lengthOf(run) > lengthOf(best)) best = run.slice();
  }
  return best;
}

function lengthOf(points) {
  let length = 0;
  for (let i = 1; i < points.length; i++) length += points[i - 1].distanceTo(points[i]);
  return length;
}

function alongAt(points, length) {
  for (let i = 1; i < points.length; i++) {
    const step = points[i - 1].distanceTo(points[i]);
    if (length <= step) return points[i - 1].add(points[i].subtract(points[i - 1]).multiplyBy(length / (step || 1)));
    length -= step;
  }
  return points[points.length - 1];
}

function placeReasons() {
  if (hidden.has("reasons") || over.metresPerPixel > PADS_FROM_METRES_PER_PIXEL * 1.6) return;
  for (const site of study.sites) {
    if (site.status === RANKED || site.status === NO_FIT || !isInView(site)) continue;
    const at = place(site.box.getCenter());
    const isUnknown = site.status === NOT_ASSESSED, text = isUnknown ? "?" : site.short;
    const wide = place(site.box.getNorthEast()).x - place(site.box.getSouthWest()).x;
    const width = isUnknown ? 10 : widthOf(text, 9.5);
    if (width > wide * 1.5 || !isFree(at.x, at.y, width, 10)) continue;
    over.groups.letters.append(svg("text", { class: isUnknown ? "why q" : "why", x: at.x, y: at.y + (isUnknown ? 5 : 3.4) }, text));
  }
}
