// The study as the page holds it: read once from its block, then only looked at.

const WORDS = ["strong", "fair", "weak", "unknown"];
const STATES = ["ranked", "too tight for the play area", "screened out", "could not be assessed"];
const STATE_SIGNS = ["p-ranked", "p-nofit", "p-out", "p-unknown"];
const RANKED = 0, NO_FIT = 1, OUT = 2, NOT_ASSESSED = 3;
let study = null;
let units = 0; // 0 feet, 1 metres: the place in a pair of texts
let chosen = 0; // place of the chosen parcel in study.sites

async function readStudy() {
  const plain = byId("study");
  if (plain) return JSON.parse(plain.textContent);
  const letters = atob(byId("study-packed").textContent), bytes = new Uint8Array(letters.length);
  for (let i = 0; i < letters.length; i++) bytes[i] = letters.charCodeAt(i);
  const whole = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return JSON.parse(await new Response(whole).text());
}

function said(text) {
  return Array.isArray(text) ? text[units] : text || "";
}

function textAt(place) {
  return said(study.texts[place]);
}

// A line is written as steps in millionths of a degree, x first; Leaflet wants latitude first.
function unstep(flat) {
  const points = [];
  let x = 0, y = 0;
  for (let i = 0; i < flat.length; i += 2) {
    x += flat[i];
    y += flat[i + 1];
    points.push([y / 1e6, x / 1e6]);
  }
  return points;
}

function unstepAll(polygons) {
  return (polygons || []).map((rings) => rings.map(unstep));
}

// Criteria by their groups: [group, numbers of its criteria].
function criteriaByGroup() {
  const groups = new Map();
  study.criteria.forEach(({ group }, k) => groups.set(group, groups.get(group) || []).get(group).push(k));
  return [...groups];
}

function scoreClass(points) {
  return "c" + (points >= 75 ? 5 : points >= 62 ? 4 : points >= 50 ? 3 : points >= 35 ? 2 : 1);
}

function siteTitle(site) {
  return say("Site {0}", site.no) + (site.name ? ", " + apart(site.name) : "");
}

// Tied, or not to be told from the first on present data.
function isTied(site) {
  const near = tooClose(), isNear = near.includes(site.id) || (near.length && site.rank === 1);
  return study.shows_order && site.status === RANKED && (isShared(site) || isNear);
}

function inWords(site) {
  const score = site.status === RANKED ? ", " + say("score {0}", site.score) : site.short ? ", " + site.short : "";
  return siteTitle(site) + ", " + standing(site).toLowerCase() + score;
}

function inside(point, polygons) {
  let odd = false;
  for (const rings of polygons) {
    for (const ring of rings) {
      for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
        const [y1, x1] = ring[i], [y2, x2] = ring[j];
        if (y1 > point.lat !== y2 > point.lat &&
            point.lng < ((x2 - x1) * (point.lat - y1)) / (y2 - y1) + x1) odd = !odd;
      }
    }
  }
  return odd;
}

function parcelAt(point) {
  return study.sites.findIndex((site) => site.box.isValid() && site.box.contains(point) && inside(point, site.parcel));
}
