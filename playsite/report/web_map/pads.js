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
  for (const site of shown) if (site.at) placePad(site);
}

function placePad(site) {
  const node = site.padNode, at = place(site.at);
  const isSeen = over.view.contains(site.at);
  node.style.display = isSeen || site === study.sites[chosen] ? "" : "none";
  if (!isSeen) return;
  const [button, rank, name, tie] = node.children, [halo, body, tag] = button.children;
  const d = shapePath(site.pad);
  const corners = site.pad.flatMap((rings) => rings[0].map(place)), isPlan = hasPlan(site);
  const side = (a, b) => a.distanceTo(b);
  const sides = [side(corners[0], corners[1]), side(corners[1], corners[2])];
  const isSmall = !isPlan && study.shows_order && (Math.max(...sides) < TAG.width || Math.min(...sides) < TAG.height);
  node.classList.toggle("small", isSmall);
  halo.setAttribute("d", isSmall ? boxPath(at) : d);
  body.setAttribute("d", d);
  // On a plan the number stands at the corner: its middle is full of equipment.
  const top = corners.reduce((a, b) => (b.y < a.y ? b : a)), spot = isPlan ? { x: top.x, y: top.y - TAG.height / 2 - 4 } : at;
  tag.style.display = isSmall || (isPlan && study.shows_order) ? "" : "none";
  tag.setAttribute("x", spot.x - TAG.width / 2);
  tag.setAttribute("y", spot.y - TAG.height / 2);
  rank.setAttribute("x", spot.x);
  rank.setAttribute("y", spot.y + 4.6);
  const bottom = isSmall ? at.y + TAG.height / 2 : Math.max(...corners.map((c) => c.y));
  if (!isPlan) take(at.x, at.y, isSmall ? TAG.width : Math.max(TAG.width, sides[0] * 0.8), bottom * 2 - at.y * 2);
  const isOn = site === study.sites[chosen];
  name.textContent = say("Site {0}", site.no) + (hidden.has("slopes") ? "" : slopeOf(site));
  const width = widthOf(name.textContent, 12.5), y = bottom + 9;
  const isNamed = isFree(at.x + (tie ? 13 : 0), y, width + (tie ? 26 : 0), 11) || isOn;
  name.style.display = isNamed ? "" : "none";
  name.setAttribute("x", at.x);
  name.setAttribute("y", y + 4);
  if (tie) {
    tie.style.display = isNamed ? "" : "none";
    tie.setAttribute("x", at.x + width / 2 + 3);
    tie.setAttribute("y", y - 8);
  }
}

// As it was measured under the whole play area, not cell by cell.
function slopeOf(site) {
  const row = (site.measured || []).find(([k]) => study.criteria[k].name === "grade");
  return row ? ", " + textAt(row[1]) : "";
}

function boxPath(at) {
  const x = at.x - TAG.width / 2, y = at.y - TAG.height / 2;
  return `M${x} ${y}h${TAG.width}v${TAG.height}h-${TAG.width}Z`;
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
