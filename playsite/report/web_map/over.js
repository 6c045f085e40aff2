// What the study says is drawn over the ground in one SVG, made anew after each move of the map.

const over = { map: null, up: 1, root: null, groups: {}, grounds: [], drawers: [] };
const hidden = new Set(); // layers that are switched off

function makeOver(map) {
  const pane = map.createPane("over");
  pane.style.zIndex = 450;
  over.map = map;
  over.root = svg("svg", { class: "over leaflet-zoom-hide" });
  for (const name of ["parcels", "district", "grades", "reach", "roots", "low", "flow", "others", "evidence", "signs", "pads", "plans", "shade", "letters", "marks"]) {
    over.groups[name] = over.root.appendChild(svg("g", { class: name }));
  }
  for (const name of ["district", "grades", "reach", "roots", "marks", "shade", "low", "flow", "others", "signs", "plans", "letters"]) over.groups[name].setAttribute("aria-hidden", "true");
  pane.append(over.root);
  map.on("moveend resize", () => {
    over.boxes = null;
    redraw();
  });
}

function redraw() {
  const map = over.map, size = map.getSize();
  over.up = timesLarger();
  const corner = map.containerPointToLayerPoint([0, 0]);
  L.DomUtil.setPosition(over.root, corner);
  over.root.setAttribute("width", size.x);
  over.root.setAttribute("height", size.y);
  over.size = size;
  over.origin = map.getPixelBounds().min;
  over.view = map.getBounds().pad(0.2);
  over.metresPerPixel = map.distance(map.containerPointToLatLng([0, size.y / 2]),
    map.containerPointToLatLng([100, size.y / 2])) / 100;
  over.boxes ||= controlBoxes(); // asking where they lie makes the browser lay out
  for (const draw of over.grounds) draw();
  redrawOrder();
}

// What the order of the sites changes; the parcels stay as they are.
function redrawOrder() {
  over.taken = over.boxes.slice();
  for (const draw of over.drawers) draw();
}

// On a wall the page is so many times as large as on a desk.
function timesLarger() {
  return Number(getComputedStyle(document.documentElement).getPropertyValue("--up")) || 1;
}

// Leaflet's own way rounds to whole pixels, which bends a small pad.
function place(point) {
  return over.map.project(point).subtract(over.origin);
}

function isInView(site) {
  return site.box.isValid() && over.view.intersects(site.box);
}

function ringPath(ring, close) {
  return ring.map((point, i) => {
    const at = place(point);
    return (i ? "L" : "M") + at.x.toFixed(1) + " " + at.y.toFixed(1);
  }).join("") + (close ? "Z" : "");
}

function shapePath(polygons) {
  return polygons.map((rings) => rings.map((ring) => ringPath(ring, true)).join("")).join("");
}

// Lettering gives way: a box is kept only where none that came before it lies.
function isFree(x, y, width, height) {
  const box = [x - width / 2, y - height / 2, x + width / 2, y + height / 2];
  if (box[0] < 2 || box[1] < 2 || box[2] > over.size.x - 2 || box[3] > over.size.y - 2) return false;
  if (over.taken.some((t) => box[0] < t[2] && box[2] > t[0] && box[1] < t[3] && box[3] > t[1])) return false;
  over.taken.push(box);
  return true;
}

// Buttons and inset lie over the map: nothing is written under them.
function controlBoxes() {
  const frame = byId("map").getBoundingClientRect();
  return [...document.querySelectorAll(".zoom, #layers-open, #inset:not([hidden])")].map((node) => {
    const box = node.getBoundingClientRect();
    return [box.left - frame.left, box.top - frame.top, box.right - frame.left, box.bottom - frame.top].map((px) => px / over.up);
  });
}

function sidesOf({ min, max }) {
  return [min.x, min.y, max.x, max.y];
}

function take(x, y, width, height) {
  over.taken.push([x - width / 2, y - height / 2, x + width / 2, y + height / 2]);
}

const ruler = document.createElement("canvas").getContext("2d");

function widthOf(text, px) {
  ruler.font = `600 ${px}px ${token("--sans")}`;
  return ruler.measureText(text).width;
}
