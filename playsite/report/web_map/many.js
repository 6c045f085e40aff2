// Very many parcels on one canvas: their corners are projected once, each move only scales them.

const PER_STROKE = 2000, LEAST_OUTLINE_PX = 2.5;
const many = { lots: null, pads: null, patterns: {} };

function drawManyParcels(map) {
  const pane = map.createPane("parcels");
  pane.style.zIndex = 400;
  pane.style.pointerEvents = "none";
  for (const name of ["lots", "pads"]) pane.append((many[name] = el("canvas", { class: "leaflet-zoom-hide" })));
  // Steps to places in a world of 256 by 256, as Leaflet's own projection has it at zoom 0.
  for (const site of study.sites) site.worlds = (site.steps.parcel || []).flatMap((rings) => rings.map(toWorld));
  over.grounds.push(placeManyParcels);
  over.drawers.push(() => drawPlainPads(penOn(many.pads)));
}

function toWorld(flat) {
  const ring = new Float64Array(flat.length);
  let x = 0, y = 0;
  for (let i = 0; i < flat.length; i += 2) {
    x += flat[i];
    y += flat[i + 1];
    ring[i] = 256 * (x / 3.6e8 + 0.5);
    ring[i + 1] = 256 * (0.5 - Math.log(Math.tan(Math.PI / 4 + (y * Math.PI) / 3.6e8)) / (2 * Math.PI));
  }
  return ring;
}

function penOn(canvas) {
  const ratio = (devicePixelRatio || 1) * over.up, pen = canvas.getContext("2d");
  L.DomUtil.setPosition(canvas, over.map.containerPointToLayerPoint([0, 0]));
  Object.assign(canvas, { width: over.size.x * ratio, height: over.size.y * ratio });
  Object.assign(canvas.style, { width: over.size.x + "px", height: over.size.y + "px" });
  pen.scale(ratio, ratio);
  return pen;
}

function placeManyParcels() {
  const pen = penOn(many.lots);
  for (let status = PARCEL_STYLE.length - 1; status >= 0; status--) drawState(pen, status);
}

function drawState(pen, status) {
  const style = PARCEL_STYLE[status], scale = 2 ** over.map.getZoom();
  pen.lineWidth = Math.min(style.weight, 1.2);
  pen.strokeStyle = token(style.color);
  pen.setLineDash((style.dashArray || "").split(" ").filter(Boolean).map(Number));
  let begun = 0;
  const finish = () => {
    if (!begun) return;
    pen.globalAlpha = style.opacity || 1;
    pen.fillStyle = token(style.fill || "--sheet");
    pen.fill("evenodd");
    pen.globalAlpha = 1;
    if (style.pattern) {
      pen.fillStyle = many.patterns[style.pattern] ||= pen.createPattern(patternTile(style.pattern), "repeat");
      pen.fill("evenodd");
    }
    pen.stroke();
    begun = 0;
  };
  study.sites.forEach((site) => {
    if (site.status !== status || !isInView(site)) return;
    if (!begun) pen.beginPath();
    for (const ring of site.worlds) outline(pen, ring, scale);
    if (++begun >= PER_STROKE) finish();
  });
  finish();
}

// A lot of a pixel or two is a box: nobody sees its corners.
function outline(pen, ring, scale) {
  const x = ring[0] * scale - over.origin.x, y = ring[1] * scale - over.origin.y;
  if (Math.abs(ring[2] - ring[0]) * scale < LEAST_OUTLINE_PX && Math.abs(ring[3] - ring[1]) * scale < LEAST_OUTLINE_PX) {
    pen.rect(x, y, LEAST_OUTLINE_PX, LEAST_OUTLINE_PX);
    return;
  }
  pen.moveTo(x, y);
  for (let i = 2; i < ring.length; i += 2) pen.lineTo(ring[i] * scale - over.origin.x, ring[i + 1] * scale - over.origin.y);
  pen.closePath();
}

// Pads without lettering: squares in the color of their score; from near, to scale.
function drawPlainPads(pen) {
  const toScale = over.metresPerPixel <= PADS_FROM_METRES_PER_PIXEL, scale = 2 ** over.map.getZoom();
  const paths = new Map(["c1", "c2", "c3", "c4", "c5"].map((name) => [name, new Path2D()]));
  const { x: left, y: top } = over.origin, { x: width, y: height } = over.size;
  for (const site of over.plainPads) {
    if (!site.at) continue;
    const [x, y] = (site.world ||= toWorld([site.at.lng * 1e6, site.at.lat * 1e6])), dx = x * scale - left, dy = y * scale - top;
    if (dx < -width * 0.2 || dy < -height * 0.2 || dx > width * 1.2 || dy > height * 1.2) continue;
    const path = paths.get(scoreClass(site.score));
    if (toScale) for (const [ring] of site.steps.pad) outline(path, toWorld(ring), scale);
    else path.rect(dx - SQUARE_PX / 2, dy - SQUARE_PX / 2, SQUARE_PX, SQUARE_PX);
  }
  pen.setLineDash([]);
  pen.lineWidth = 0.8;
  pen.strokeStyle = token("--overprint-deep");
  for (const [name, path] of paths) {
    pen.fillStyle = token("--score-" + name[1]);
    pen.fill(path);
    pen.stroke(path);
  }
}
