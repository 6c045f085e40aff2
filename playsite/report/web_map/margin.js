// The margin of the sheet: units, scale bar, the letters and figures of the grid.

const STEPS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000];
const FOOT_M = 0.3048, BAR_PX = 112;

function drawMargin() {
  over.grounds.push(placeScale, placeGrid);
  document.querySelectorAll("[data-units]").forEach((button) =>
    button.addEventListener("click", () => {
      setUnits(Number(button.dataset.units));
      keepAddress();
    }));
}

function setUnits(which) {
  units = which;
  document.querySelectorAll("[data-units]").forEach((button) =>
    button.setAttribute("aria-pressed", String(Number(button.dataset.units) === units)));
  document.querySelectorAll("[data-feet]").forEach((node) => {
    node.textContent = units ? node.dataset.metres : node.dataset.feet;
  });
  namePriorities();
  drawTally();
  showChosen();
  showComparing();
  showDistances();
}

function placeScale() {
  const unit = units ? 1 : FOOT_M, word = units ? "m" : "ft";
  const most = (BAR_PX * over.metresPerPixel) / unit;
  const length = [...STEPS].reverse().find((step) => step * 2 <= most) || 0.5;
  const half = (length * unit) / over.metresPerPixel;
  const text = (x, words) => svg("text", { x, y: 11, "text-anchor": "middle" }, words);
  byId("scalebar").replaceChildren(svg("g", { transform: "translate(8 0)" },
    svg("rect", { x: 0.5, y: 16.5, width: half * 2, height: 5, fill: "var(--sheet)", stroke: "var(--ink)" }),
    svg("rect", { x: 0.5, y: 16.5, width: half / 2, height: 5, fill: "var(--ink)" }),
    svg("rect", { x: half, y: 16.5, width: half / 2, height: 5, fill: "var(--ink)" }),
    text(0, "0"), half < 6 + 8 * number(length * 2).length ? "" : text(half, number(length)), text(half * 2, number(length * 2) + " " + word)));
  byId("scalebar").setAttribute("aria-label", units ? say("Scale: the bar is {0} meters long", number(length * 2)) : say("Scale: the bar is {0} feet long", number(length * 2)));
}

// Squares of one size for the whole study, whatever part of it is shown: "Site 4, C4".
function makeGrid(box) {
  const wide = box.getEast() - box.getWest(), high = box.getNorth() - box.getSouth();
  const squeeze = Math.cos((box.getCenter().lat * Math.PI) / 180);
  const cell = Math.max(wide * squeeze, high) / 8 || 0.001;
  over.grid = { north: box.getNorth(), west: box.getWest(), dx: cell / squeeze, dy: cell };
}

function gridName(column, row) {
  return [column < 0 ? "" : String.fromCharCode(65 + (column % 26)), row < 0 ? "" : String(row + 1)];
}

function squareOf(site) {
  if (!site.at || !over.grid) return "";
  const { north, west, dx, dy } = over.grid;
  return gridName(Math.floor((site.at.lng - west) / dx), Math.floor((north - site.at.lat) / dy)).join("");
}

function placeGrid() {
  const across = document.querySelector(".gx"), down = document.querySelector(".gy");
  const { north, west, dx, dy } = over.grid;
  const put = (count, lineAt, middleAt, size, axis, name) => {
    const parts = [];
    for (let i = 0; i <= count; i++) {
      const line = lineAt(i), middle = middleAt(i);
      if (line > 0 && line < size) parts.push(el("i", { style: `${axis}:${line.toFixed(1)}px` }));
      if (i < count && middle > 8 && middle < size - 8) parts.push(el("span", { style: `${axis}:${middle.toFixed(1)}px` }, name(i)));
    }
    return parts;
  };
  const x = (i) => place([north, west + i * dx]).x, y = (i) => place([north - i * dy, west]).y;
  across.replaceChildren(...put(9, x, (i) => x(i + 0.5), over.size.x, "left", (i) => gridName(i, -1)[0]));
  down.replaceChildren(...put(9, y, (i) => y(i + 0.5), over.size.y, "top", (i) => gridName(-1, i)[1]));
}
