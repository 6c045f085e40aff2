// Marks of the chosen site: ways and distances, other places on its lot; signs of all.

const ROUTES = { accessible_route: "wheel", truck: "truck", run_on: "runoff", outlet: "runoff" };
for (const name of ["restroom", "parking", "picnic", "drinking_water", "transit", "emergency", "duplication"]) ROUTES[name] = "walk";
const CORRIDOR_M = 3.7, LEAST_CORRIDOR_PX = 5;
const SIGN_FROM_METRES_PER_PIXEL = 2.2, STEPS_OF_GRADE = ["walkway", "ramp", "steep"];

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
  over.measured = [];
  if (hidden.has("evidence")) return;
  for (const [criterion, words, parts, form, grades] of study.sites[chosen].evidence || []) {
    const kind = kindOf(criterion, form);
    if (hidden.has(kind)) continue;
    const lines = parts.map((part) => unstep(part));
    if (kind === "spot") for (const [at] of lines.map((line) => line.map(place))) placeSpot(group, at);
    else if (kind === "wheel" && grades?.length) placeGrades(group, grades);
    else group.append(...wayOf(kind, lines));
    over.measured.push({ line: lines[0].map(place), words: textAt(words), kind, weight: weights.own[criterion] });
  }
  placeLabels(group);
}

function placeSpot(group, at) {
  group.append(svg("circle", { class: "spot", cx: at.x.toFixed(1), cy: at.y.toFixed(1), r: 4 }));
  take(at.x, at.y, 8, 8);
}

function wayOf(kind, lines) {
  const d = lines.map((line) => ringPath(line, false)).join(""), path = (name, of = d) => svg("path", { class: "way " + name, d: of, "aria-hidden": "true" });
  if (kind === "truck") {
    // Two lines: as wide as the corridor where the map is near enough to show it.
    const width = Math.max(LEAST_CORRIDOR_PX, CORRIDOR_M / over.metresPerPixel);
    return [["truck", width], ["bed", width - 2.6]].map(([name, wide]) => svg("path", { class: "way " + name, d, "stroke-width": wide.toFixed(1) }));
  }
  const nodes = [path(kind)];
  if (!["clear", "area", "runoff"].includes(kind)) nodes.unshift(path("under"));
  if (kind === "wheel") nodes.push(path("ring"), path("hole"));
  if (kind === "dash") nodes.push(path("tip", lines.map(arrowHead).join("")));
  if (kind === "clear") nodes.push(path("clear", lines.map(endTicks).join("")));
  return nodes;
}

// A step-free way by its running slope: rings on a walk, rungs on a ramp, a thick broken line on what is too steep.
function placeGrades(group, [parts, words, step, at]) {
  const lines = parts.map(([own, flat]) => [own, unstep(flat)]);
  for (const [own, line] of lines) {
    if (own === 0) group.append(...wayOf("wheel", [line]));
    else for (const name of ["under", "wheel", STEPS_OF_GRADE[own]]) group.append(svg("path", { class: "way " + name, d: ringPath(line, false) }));
  }
  const far = lines.reduce((sum, [, line]) => sum + lengthOf(line.map(place)), 0);
  if (far < LONG_ENOUGH_PX) return; // its name says it
  const text = textAt(words) + (step ? ", " + (step === 1 ? say("ramp") : say("too steep")) : "");
  over.measured.push({ line: [place(unstep(at)[0])], words: text, kind: "wheel", weight: 0 });
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
