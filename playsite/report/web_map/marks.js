// Marks of the chosen site: ways and distances, other places on its lot; signs of all.

const ROUTES = { accessible_route: "wheel", truck: "truck", run_on: "runoff", outlet: "runoff" };
for (const name of ["restroom", "parking", "picnic", "drinking_water", "transit", "emergency", "duplication"]) ROUTES[name] = "walk";
const CORRIDOR_M = 3.7, LEAST_CORRIDOR_PX = 5;
const ALL_LABELS_FROM_METRES_PER_PIXEL = 0.5, FEW_LABELS = 6;
const SIGN_FROM_METRES_PER_PIXEL = 2.2, LABELS_FROM_METRES_PER_PIXEL = 2.2;

function drawMarks() {
  over.drawers.push(placeReach, placeRoots, placeSigns, placeEvidence, placeOthers);
  over.signs = Object.entries(study.ground.signs).flatMap(([kind, spots]) =>
    spots.map((spot) => ({ kind, at: unstep(spot)[0] })));
}

function kindOf(criterion, form) {
  return ["", "area", "spot", "dash"][form] || ROUTES[study.criteria[criterion].name] || "clear";
}

// Root zones of trees near the foremost play areas, a ring each.
function placeRoots() {
  over.groups.roots.replaceChildren();
  if (hidden.has("roots")) return;
  for (const [x, y, decimetres] of study.roots) {
    const at = place([y / 1e6, x / 1e6]);
    over.groups.roots.append(svg("circle", { cx: at.x.toFixed(1), cy: at.y.toFixed(1), r: (decimetres / 10 / over.metresPerPixel).toFixed(1) }));
  }
}

function placeEvidence() {
  const group = over.groups.evidence;
  group.replaceChildren();
  const rows = (study.sites[chosen].evidence || []).filter(([criterion, , , form]) => !hidden.has(kindOf(criterion, form)));
  if (hidden.has("evidence") || !rows.length) return;
  const labels = rows.map(([criterion, words, parts, form]) => {
    const kind = kindOf(criterion, form);
    const lines = parts.map((part) => unstep(part));
    if (kind === "spot") {
      for (const [at] of lines.map((line) => line.map(place))) group.append(svg("circle", { class: "spot", cx: at.x.toFixed(1), cy: at.y.toFixed(1), r: 4 }));
      return [lines[0], textAt(words), kind, criterion];
    }
    const d = lines.map((line) => ringPath(line, false)).join("");
    if (kind === "truck") {
      // Two lines: as wide as the corridor where the map is near enough to show it.
      const width = Math.max(LEAST_CORRIDOR_PX, CORRIDOR_M / over.metresPerPixel);
      group.append(svg("path", { class: "way truck", d, "stroke-width": width.toFixed(1) }),
        svg("path", { class: "way bed", d, "stroke-width": (width - 2.6).toFixed(1) }));
      return [lines[0], textAt(words), kind, criterion];
    }
    if (!["clear", "area", "runoff"].includes(kind)) group.append(svg("path", { class: "way under", d }));
    group.append(svg("path", { class: "way " + kind, d, "aria-hidden": "true" }));
    if (kind === "wheel") group.append(svg("path", { class: "way ring", d }), svg("path", { class: "way hole", d }));
    if (kind === "dash") group.append(svg("path", { class: "way tip", d: lines.map(arrowHead).join("") }));
    if (kind === "clear") group.append(svg("path", { class: "way clear", d: lines.map(endTicks).join(""), "aria-hidden": "true" }));
    return [lines[0], textAt(words), kind, criterion];
  });
  if (over.metresPerPixel > LABELS_FROM_METRES_PER_PIXEL) return;
  // From afar only what counts most is named: all of it would hide the ground.
  const few = over.metresPerPixel > ALL_LABELS_FROM_METRES_PER_PIXEL ? FEW_LABELS : labels.length;
  const weighs = (label) => weights.own[label[3]];
  labels.sort((one, other) => weighs(other) - weighs(one));
  for (const [line, text, kind] of labels.slice(0, few)) labelOn(group, line, text, kind);
}

function arrowHead(line) {
  const [before, end] = line.slice(-2).map(place), angle = Math.atan2(end.y - before.y, end.x - before.x);
  const barb = (turn) => `${(end.x - 9 * Math.cos(angle + turn)).toFixed(1)} ${(end.y - 9 * Math.sin(angle + turn)).toFixed(1)}`;
  return `M${barb(0.45)}L${end.x.toFixed(1)} ${end.y.toFixed(1)}L${barb(-0.45)}Z`;
}

function endTicks(line) {
  const first = place(line[0]), second = place(line[1]);
  const last = place(line[line.length - 1]), before = place(line[line.length - 2]);
  return [[first, second], [last, before]].map(([end, next]) => {
    const length = end.distanceTo(next) || 1;
    const x = ((next.y - end.y) / length) * 4, y = (-(next.x - end.x) / length) * 4;
    return `M${(end.x - x).toFixed(1)} ${(end.y - y).toFixed(1)}L${(end.x + x).toFixed(1)} ${(end.y + y).toFixed(1)}`;
  }).join("");
}

// Words stand beside the far end of a line, on the side where nothing else is written.
function labelOn(group, line, text, kind) {
  const at = place(line[line.length - 1]), from = place(line[0]), side = at.x < from.x ? -1 : 1;
  const [what, far] = text.split("\n");
  for (const words of far ? [what + ", " + far, far] : [what]) {
    const width = widthOf(words, 11), x = width / 2 + 12;
    for (const [dx, dy] of [[side * x, 0], [0, -18], [0, 18], [-side * x, 0], [side * x, -14], [side * x, 14], [0, -31], [0, 31]]) {
      if (!isFree(at.x + dx, at.y + dy, width, 12)) continue;
      group.append(svg("text", { class: "label " + kind, x: at.x + dx, y: at.y + dy + 4 }, words));
      return;
    }
  }
}

function placeOthers() {
  const group = over.groups.others, site = study.sites[chosen];
  group.replaceChildren();
  const ghosts = study.sites.length > AS_BUTTONS && over.metresPerPixel > PADS_FROM_METRES_PER_PIXEL ? [] : study.sites;
  const d = ghosts.filter((other) => other.ghost.length && isInView(other)).map((other) => shapePath(other.ghost)).join("");
  if (d) group.append(svg("path", { class: "ghost", d }));
  // Of a parcel that is out: where its measurements were taken.
  if (site.status !== RANKED && site.pad.length) group.append(svg("path", { class: "ghost", d: shapePath(site.pad) }));
  if (!hidden.has("others") && site.others.length) group.append(svg("path", { class: "other", d: shapePath(site.others) }));
}

function placeSigns() {
  over.groups.signs.replaceChildren();
  if (over.metresPerPixel > SIGN_FROM_METRES_PER_PIXEL) return;
  const ids = { restrooms: "s-restroom", parking: "s-parking", picnic: "s-picnic" };
  for (const { kind, at } of over.signs) {
    if (hidden.has(kind) || !over.view.contains(at)) continue;
    const p = place(at);
    if (!isFree(p.x, p.y, 20, 20)) continue;
    over.groups.signs.append(svg("g", { class: "sign" }, svg("rect", { x: p.x - 10, y: p.y - 10, width: 20, height: 20, rx: 2 }),
      svg("use", { href: "#" + ids[kind], x: p.x - 8, y: p.y - 8, width: 16, height: 16 })));
  }
}
