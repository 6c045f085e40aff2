// A parcel of the study. Its shapes come without the last vertex of a ring, which is its first; they are
// read from their steps only when they are drawn: of a hundred thousand few are ever seen from near.

const SHAPES = ["parcel", "pad", "ghost", "others"];

class Lot {
  constructor(row) {
    this.steps = {};
    this.given = {}; // what follows from the weights, at the adopted ones
    for (const name in row) {
      if (row[name] === null) continue;
      if (SHAPES.includes(name)) this.steps[name] = row[name];
      else if (name in OF_WEIGHTS) this.given[name] = row[name];
      else this[name] = row[name];
    }
    const pad = this.steps.pad?.length ? boxOfSteps(this.steps.pad.slice(0, 1)) : null;
    const box = boxOfSteps((this.steps.parcel || []).concat(this.steps.pad || []));
    this.box = box || L.latLngBounds([]);
    this.at = (pad || box)?.getCenter() || null;
  }
}

for (const name of SHAPES) {
  Object.defineProperty(Lot.prototype, name, {
    get() {
      this.shapes ||= {};
      return (this.shapes[name] ||= unstepAll(this.steps[name]).map((rings) => rings.map((ring) => [...ring, ring[0]])));
    },
  });
}

// Of outer rings alone: what is inside lies inside.
function boxOfSteps(polygons) {
  let west = Infinity, south = Infinity, east = -Infinity, north = -Infinity;
  for (const [flat] of polygons) {
    let x = 0, y = 0;
    for (let i = 0; i < flat.length; i += 2) {
      x += flat[i];
      y += flat[i + 1];
      if (x < west) west = x;
      if (x > east) east = x;
      if (y < south) south = y;
      if (y > north) north = y;
    }
  }
  return west <= east ? L.latLngBounds(L.latLng(south / 1e6, west / 1e6), L.latLng(north / 1e6, east / 1e6)) : null;
}

// The first ones come row by row, the rest column by column: a rank from its row's place, shapes from
// the parcel's first corner.
function readLots({ sites, rest }) {
  const names = Object.keys(rest), count = names.length ? rest[names[0]].length : 0, lots = sites.map((row) => new Lot(row));
  for (let i = 0; i < count; i++) {
    const row = {};
    for (const name of names) row[name] = rest[name][i];
    if (row.rank !== null) row.rank += lots.length + 1;
    const [x, y] = row.parcel?.[0][0] || [0, 0];
    for (const name of SHAPES.slice(1)) {
      for (const ring of (row[name] || []).flat()) {
        ring[0] += x;
        ring[1] += y;
      }
    }
    lots.push(new Lot(row));
  }
  return lots;
}
