// The concept layout on each pad, like a garden plan; below its scale the pad is a plain shape.

const PLAN_FROM_METRES_PER_PIXEL = 0.4; // 1:1,500
const PLAN_ROLES = ["pad", "surfacing", "strip", "zone", "equipment", "route", "gate", "seat"];

function hasPlan(site) {
  return Boolean(site.frames) && !hidden.has("plans") && over.metresPerPixel <= PLAN_FROM_METRES_PER_PIXEL;
}

function placePlans() {
  const group = over.groups.plans;
  group.replaceChildren();
  const here = study.sites[chosen];
  for (const site of study.sites) {
    if (!hasPlan(site) || (site.status !== RANKED && site !== here) || !site.at || !over.view.contains(site.at)) continue;
    for (const frame of site.frames) group.append(planNode(frame));
  }
  if (over.metresPerPixel <= PLAN_FROM_METRES_PER_PIXEL && !hidden.has("evidence")) roomLines(group, here);
  for (const site of study.sites) if (site.at && over.view.contains(site.at) && hasPlan(site)) over.taken.push(sidesOf(L.bounds(site.pad.flatMap((rings) => rings[0].map(place)))));
}

// Room at the sides of the chosen pad, as measured lines.
function roomLines(group, site) {
  for (const [, length, parts] of site.rooms || []) {
    const line = unstep(parts[0]), [from, to] = [place(line[0]), place(line[line.length - 1])];
    if (from.distanceTo(to) < 4) continue;
    group.append(svg("path", { class: "room", d: ringPath(line, false) + endTicks(line) }));
    const words = textAt(length), x = (from.x + to.x) / 2, y = (from.y + to.y) / 2;
    if (isFree(x, y, widthOf(words, 10.5), 11)) group.append(svg("text", { class: "room", x: x.toFixed(1), y: (y + 4).toFixed(1) }, words));
  }
}

function planNode([number, x, y, alongX, alongY, acrossX, acrossY]) {
  const at = (u, v) => place([(y + (u * alongY + v * acrossY) / 1e5) / 1e7, (x + (u * alongX + v * acrossX) / 1e5) / 1e7]);
  const node = svg("g", { class: "plan" });
  for (const [role, label, rings] of study.plans[number]) {
    const lines = rings.map((flat) => {
      const points = [];
      for (let i = 0; i < flat.length; i += 2) points.push(at(flat[i], flat[i + 1]));
      return points;
    });
    const name = PLAN_ROLES[role];
    if (name === "gate" || name === "seat") {
      for (const [spot] of lines) node.append(svg("circle", { class: name, cx: spot.x.toFixed(1), cy: spot.y.toFixed(1), r: 3 }));
    } else {
      const d = lines.map((points) => points.map((p, i) => (i ? "L" : "M") + p.x.toFixed(1) + " " + p.y.toFixed(1)).join("")).join("");
      node.append(svg("path", { class: name, d }, label ? svg("title", {}, label) : ""));
      if (name === "equipment") nameOn(node, lines[0], label);
    }
  }
  return node;
}

// A piece is named where its name has room.
function nameOn(node, points, label) {
  const xs = points.map((p) => p.x), ys = points.map((p) => p.y);
  const x = (Math.min(...xs) + Math.max(...xs)) / 2, y = (Math.min(...ys) + Math.max(...ys)) / 2;
  if (over.metresPerPixel < PLAN_FROM_METRES_PER_PIXEL / 2 && isFree(x, y, widthOf(label, 9.5), 10)) {
    node.append(svg("text", { x: x.toFixed(1), y: (y + 3).toFixed(1) }, label));
  }
}
