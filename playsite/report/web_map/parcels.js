// Parcels, each state with its own line, filling and word. Few are SVG and buttons; many a canvas.

const AS_BUTTONS = 400;
const PARCEL_STYLE = [
  { color: "--overprint", weight: 1.4, fill: "--overprint-wash", opacity: 0.6 }, // pond and house show through
  { color: "--nofit-line", weight: 1.4, dashArray: "5 2.5", fill: "--sheet" },
  { color: "--out-line", weight: 1.2, pattern: "hatch-out" },
  { color: "--unknown-line", weight: 1.6, dashArray: "0.1 3.1", pattern: "stipple-unknown" },
];

function drawParcels(map) {
  // So many that neither every lot nor every pad can be a shape of its own.
  if (study.sites.length > AS_BUTTONS || study.rows.length > ALL_LETTERED) drawManyParcels(map);
  else over.grounds.push(placeParcels);
}

// Their state is another now.
function forgetParcels() {
  over.groups.parcels.replaceChildren();
  for (const site of study.sites) site.parcelNode = null;
  for (const draw of over.grounds) draw();
}

function placeParcels() {
  const group = over.groups.parcels;
  study.sites.forEach((site) => {
    if (!site.parcelNode) {
      site.parcelNode = parcelNode(site);
      group.append(...site.parcelNode);
    }
    const d = isInView(site) ? shapePath(site.parcel) : "";
    site.parcelNode.forEach((node) => node.setAttribute("d", d));
  });
}

// A white path under hatch and stipple quiets the ground; the upper one is the button.
function parcelNode(site) {
  const style = PARCEL_STYLE[site.status];
  const under = svg("path", { fill: style.pattern ? "var(--sheet)" : "none", "fill-opacity": 0.85, "aria-hidden": "true" });
  const node = svg("path", {
    class: "parcel s" + site.status, stroke: `var(${style.color})`, "stroke-width": style.weight,
    "stroke-linecap": "round", "stroke-dasharray": style.dashArray,
    fill: style.pattern ? `url(#${style.pattern})` : `var(${style.fill})`, "fill-opacity": style.opacity,
    // A ranked parcel is reached by its pad: one stop each.
    ...(site.status === RANKED ? { "aria-hidden": "true" } : stop(site)),
  });
  node.addEventListener("click", () => choose(site.place, { from: "map" }));
  return [under, node];
}

function stop(site) {
  return { role: "button", tabindex: site.place === chosen ? 0 : -1, "aria-label": inWords(site), "data-stop": site.place };
}

function patternTile(name) {
  const tile = document.createElement("canvas"), pen = tile.getContext("2d");
  tile.width = tile.height = name === "hatch-out" ? 8 : 7;
  if (name === "hatch-out") {
    pen.strokeStyle = token("--out-hatch");
    pen.lineWidth = 1.4;
    for (const shift of [-8, 0, 8]) {
      pen.moveTo(shift - 1, 9);
      pen.lineTo(shift + 9, -1);
    }
    pen.stroke();
  } else {
    pen.fillStyle = token("--unknown-dot");
    for (const at of [1.75, 5.25]) {
      pen.beginPath();
      pen.arc(at, at, 1.05, 0, 7);
      pen.fill();
    }
  }
  return tile;
}
