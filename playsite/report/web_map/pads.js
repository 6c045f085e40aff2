// Pads to scale with their rank. Past 40 ranked sites the first 20 and the chosen one are lettered.

const ALL_LETTERED = 40, LETTERED = 20, SQUARE_PX = 6, PADS_FROM_METRES_PER_PIXEL = 1.32; // 1:5,000
const TAG = { width: 22, height: 16 };

function drawPads() {
  choosePads();
  over.drawers.push(placePads, placePlans, placeChosen);
}

// Which pads are lettered, by the ranks of now; a node that stays is given its new rank.
function choosePads() {
  const ranked = study.sites.slice(0, study.ranked), before = [...(over.letteredPads || []), over.extraPad];
  over.extraPad = null;
  over.letteredPads = ranked.length <= ALL_LETTERED ? ranked : ranked.slice(0, LETTERED);
  over.plainPads = ranked.length > ALL_LETTERED ? ranked.slice(LETTERED) : [];
  const stay = new Set(over.letteredPads);
  for (const site of before) {
    if (!site?.padNode) continue;
    if (stay.has(site)) dressPad(site.padNode, site);
    else forgetPad(site);
  }
}

function forgetPad(site) {
  site.padNode.remove();
  site.padNode = null;
}

function padNode(site) {
  // The lettering stands beside the button, not in it: its label says rank and name already.
  const node = svg("g", {},
    svg("g", {}, svg("path", { class: "halo" }), svg("path", { class: "body" }), svg("rect", { class: "tag", ...TAG })),
    svg("text", { class: "rank", "aria-hidden": "true" }),
    svg("text", { class: "name", "aria-hidden": "true" }, say("Site {0}", site.no)));
  node.addEventListener("click", () => choose(site.place, { from: "map" }));
  return dressPad(node, site);
}

function dressPad(node, site) {
  const [button, rank, , tie] = node.children;
  node.setAttribute("class", "pad " + scoreClass(site.score));
  fill(button, stop(site), []);
  rank.textContent = study.shows_order ? site.rank : "";
  tie?.remove();
  if (isTied(site)) node.append(svg("use", { class: "tie", href: "#m-tie", width: 20, height: 16 }));
  return node;
}

function placePads() {
  const here = study.sites[chosen];
  const shown = here.status === RANKED && !over.letteredPads.includes(here) ? [here, ...over.letteredPads] : over.letteredPads;
  if (over.extraPad && over.extraPad !== here && over.extraPad.padNode) forgetPad(over.extraPad);
  over.extraPad = shown === over.letteredPads ? null : here;
  // Lower ranks first, so that higher ones lie on top; the chosen one last.
  const nodes = [...shown].reverse().sort((a, b) => (a === here) - (b === here)).map((site) => (site.padNode ||= padNode(site)));
  if (nodes.some((node, i) => node !== over.padNodes?.[i] || !node.isConnected)) over.groups.pads.append(...nodes);
  over.padNodes = nodes;
  // No name lies over a rank: every pad takes its place before the first name is written, that of the chosen one.
  const boxes = shown.filter((site) => site.at).map((site) => [site, placePad(site)]).filter(([, box]) => box);
  for (const [site, box] of boxes.sort(([a], [b]) => (b === here) - (a === here))) placeName(site, box);
}

// Pad and rank; gives back what the name has to keep off, as left, top, right, bottom.
function placePad(site) {
  const node = site.padNode, at = place(site.at);
  const isSeen = over.view.contains(site.at);
  node.classList.toggle("away", !isMine(site));
  node.style.display = isSeen || site === study.sites[chosen] ? "" : "none";
  if (!isSeen) return null;
  const [button, rank] = node.children, [halo, body, tag] = button.children;
  const d = shapePath(site.pad);
  const corners = site.pad.flatMap((rings) => rings[0].map(place)), isPlan = hasPlan(site);
  const side = (a, b) => a.distanceTo(b);
  const sides = [side(corners[0], corners[1]), side(corners[1], corners[2])];
  const isSmall = !isPlan && study.shows_order && (Math.max(...sides) < tagWidth(site) || Math.min(...sides) < TAG.height);
  node.classList.toggle("small", isSmall);
  const wide = tagWidth(site);
  halo.setAttribute("d", isSmall ? boxPath(at, wide) : d);
  body.setAttribute("d", d);
  // On a plan the number stands at the corner: its middle is full of equipment.
  const top = corners.reduce((a, b) => (b.y < a.y ? b : a)), spot = isPlan ? { x: top.x, y: top.y - TAG.height / 2 - 4 } : at;
  tag.style.display = isSmall || (isPlan && study.shows_order) ? "" : "none";
  tag.setAttribute("width", wide);
  tag.setAttribute("x", spot.x - wide / 2);
  tag.setAttribute("y", spot.y - TAG.height / 2);
  rank.setAttribute("x", spot.x);
  rank.setAttribute("y", spot.y + 4.6);
  const around = L.bounds([...(isSmall ? [] : corners), [spot.x - wide / 2, spot.y - TAG.height / 2], [spot.x + wide / 2, spot.y + TAG.height / 2]]);
  // Pieces on a plan are named inside the pad: it is taken once they are.
  if (isPlan) take(spot.x, spot.y, wide, TAG.height);
  else over.taken.push(sidesOf(around));
  return sidesOf(around);
}

// Under the pad, else above it; that of the chosen site always.
function placeName(site, [left, top, right, bottom]) {
  const [, , name, tie] = site.padNode.children, x = (left + right) / 2;
  name.textContent = say("Site {0}", site.no) + (hidden.has("slopes") ? "" : slopeOf(site));
  const width = widthOf(name.textContent, site === study.sites[chosen] ? 13.5 : 12.5), wide = width + (tie ? 26 : 0), middle = x + (tie ? 13 : 0);
  let y = [bottom + 9, top - 9].find((spot) => isFree(middle, spot, wide, 12));
  const isNamed = y !== undefined || site === study.sites[chosen];
  if (isNamed && y === undefined) take(middle, (y = bottom + 9), wide, 12);
  for (const part of tie ? [name, tie] : [name]) part.style.display = isNamed ? "" : "none";
  if (!isNamed) return;
  name.setAttribute("x", x);
  name.setAttribute("y", y + 4);
  tie?.setAttribute("x", x + width / 2 + 3);
  tie?.setAttribute("y", y - 8);
}

// As it was measured under the whole play area, not cell by cell.
function slopeOf(site) {
  const row = (site.measured || []).find(([k]) => study.criteria[k].name === "grade");
  return row ? ", " + textAt(row[1]) : "";
}

// A chosen site may have a rank of four figures.
function tagWidth(site) {
  return Math.max(TAG.width, String(site.rank).length * 9 + 4);
}

function boxPath(at, wide) {
  const x = at.x - wide / 2, y = at.y - TAG.height / 2;
  return `M${x} ${y}h${wide}v${TAG.height}h-${wide}Z`;
}

// Outline of the chosen parcel; where it has no node of its own, this is the stop of the keyboard.
function placeChosen() {
  const site = study.sites[chosen];
  if (!over.chosenPath) {
    over.chosenPath = svg("path", { class: "chosen" });
    over.groups.pads.prepend(over.chosenPath);
  }
  const d = shapePath(site.parcel);
  over.chosenPath.setAttribute("d", d);
  const isStop = site.status !== RANKED && !site.parcelNode;
  for (const [name, value] of Object.entries(stop(site))) {
    if (isStop) over.chosenPath.setAttribute(name, value);
    else over.chosenPath.removeAttribute(name);
  }
}
