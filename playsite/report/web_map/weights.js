// The weights in use: the adopted ones, or the reader's own. Moving them measures nothing: each
// site keeps what was measured there, and only what follows from the weights is worked out anew.

const weights = { own: [], adopted: [], now: null }; // now: by row of study.scores, under one's own
const MOST_WEIGHT = 1000;

function readWeights(asked) {
  weights.adopted = study.criteria.map((criterion) => criterion.weight * 100);
  weights.own = weights.adopted.slice();
  for (const pair of (asked || "").split(",").filter(Boolean)) {
    const [name, weight] = pair.split(":"), k = study.criteria.findIndex((criterion) => criterion.name === name);
    if (k >= 0 && Number(weight) >= 0 && Number(weight) <= MOST_WEIGHT) weights.own[k] = Number(weight);
  }
  if (!weights.own.some((weight) => weight > 0)) weights.own = weights.adopted.slice();
}

function isOwn() {
  return weights.own.some((weight, k) => weight !== weights.adopted[k]);
}

function weightsInAddress() {
  return study.criteria.map((criterion, k) => (weights.own[k] === weights.adopted[k] ? "" : criterion.name + ":" + weights.own[k])).filter(Boolean).join(",");
}

function shareOf(k) {
  return percent(sharesOf(weights.own)[k] * 100);
}

function percent(value) {
  const tenth = Math.round(value * 10) / 10;
  return (tenth < 10 ? tenth : Math.round(value)) + "%";
}

// What of a site follows from the weights. Under one's own it is worked out when it is asked for.
const OF_WEIGHTS = {
  status: (row) => (weights.now.ranks[row] ? RANKED : NOT_ASSESSED),
  rank: (row) => weights.now.ranks[row] || undefined,
  total: (row) => weights.now.score[row],
  score: (row) => wholePoints(weights.now.score[row]),
  low: (row) => wholePoints(weights.now.low[row]),
  high: (row) => wholePoints(weights.now.high[row]),
  range: (row) => likely(wholePoints(weights.now.low[row]), wholePoints(weights.now.high[row])),
  known: (row) => (weights.now.known[row] > 0.995 ? "" : percent(weights.now.known[row] * 100)),
  why: (row) => (weights.now.ranks[row] ? "" : tooLittle(weights.now.known[row])),
  short: (row) => (weights.now.ranks[row] ? "" : say("not assessed")),
  rule: (row) => (weights.now.ranks[row] ? "" : say(STATES[NOT_ASSESSED])),
};

for (const [name, ownFigure] of Object.entries(OF_WEIGHTS)) {
  Object.defineProperty(Lot.prototype, name, {
    get() { return weights.now && this.row !== undefined ? ownFigure(this.row) : this.given[name]; },
  });
}

const FEWEST_IN_ORDER = 4; // fewer are compared, not ranked

// A row of study.scores belongs to the ranked sites in their first order, then to those of which too
// little is known to be ranked; study.rows keeps them.
function keepGiven() {
  study.scores = asColumns(study.scores);
  study.ranked = study.adopted = study.sites.filter((site) => site.status === RANKED).length;
  const count = study.scores[0]?.length ?? 0, lacking = new Set(study.lacking);
  study.rows = [...study.sites.slice(0, Math.min(study.ranked, count - lacking.size)), ...study.sites.filter((site) => lacking.has(site.no))];
  const totals = totalsUnder(study.criteria.map(({ weight }) => weight), study.scores).score;
  study.rows.forEach((site, row) => {
    site.row = row;
    site.given.total ??= totals[row]; // of a very large town it is not told of every one
  });
  study.numbers = Uint32Array.from(study.rows, (site) => site.no);
  study.states = Uint8Array.from(study.rows, (site) => site.status);
  study.order = [...new Set([RANKED, NOT_ASSESSED, ...study.sites.map((site) => site.status)])];
  study.sites.forEach((site, i) => Object.assign(site, { place: i, district: study.districts.of?.[i] }));
}

// At the adopted weights the study's own figures stand.
function scoreSites() {
  weights.now = isOwn() ? figuresUnder(weights.own) : null;
  const order = weights.now ? weights.now.order : study.rows.keys();
  let isOther = false, place = 0;
  study.rows.forEach((site, row) => {
    isOther ||= study.states[row] !== site.status;
    study.states[row] = site.status;
  });
  if (isOther) regroup();
  for (const row of order) if (study.states[row] === RANKED) (study.sites[place] = study.rows[row]).place = place++;
}

function figuresUnder(own) {
  const figures = totalsUnder(own, study.scores);
  const order = orderOf(figures.score.map((total, row) => (isEnough(figures.known[row], study.least_known) ? total : NaN)), study.numbers);
  return { ...figures, order, ranks: ranksOf(figures.score, order) };
}

// Some are ranked that were not, or the other way about: each stands with its like, and is drawn anew.
function regroup() {
  const group = (site) => study.order.indexOf(site.status), last = study.rows.length;
  study.sites.sort((a, b) => group(a) - group(b) || (a.status === RANKED ? (a.row ?? last + a.rank) - (b.row ?? last + b.rank) || a.no - b.no : a.no - b.no));
  study.ranked = study.sites.filter((site) => site.status === RANKED).length;
  study.shows_order = study.ranked >= FEWEST_IN_ORDER;
  study.sites.forEach((site, i) => { site.place = i; });
  table.states = null;
  if (!over.root) return;
  forgetParcels();
  drawTally();
}

// Those with the same rank, which stand together.
function sharing(rank) {
  let end = rank - 1;
  while (end < study.ranked && study.sites[end].rank === rank) end++;
  return study.sites.slice(rank - 1, end);
}

function likely(low, high) {
  return low === high ? "" : say("likely {0} to {1}", low, high);
}

function tooLittle(known) {
  return say("{0} of the weight in use is known; {1} is the least.", Math.round(known * 100) + "%", percent(study.least_known));
}

function wholePoints(share) {
  return Math.floor(rounded(share * 100, 1e7) + 0.5);
}

function isShared({ status, rank, place }) {
  return study.shows_order && status === RANKED && [place - 1, place + 1].some((next) => next < study.ranked && study.sites[next]?.rank === rank);
}

function standing(site) {
  if (site.status !== RANKED) return capital(say(STATES[site.status]));
  if (!study.shows_order) return say("Passes every rule; with so few sites no order is given");
  const others = sharing(site.rank).filter((other) => other !== site), place = ordinal(site.rank);
  if (!others.length) return say("{0} of {1}", place, number(study.ranked));
  if (others.length > 3) return say("Tied for {0} with {1} other sites", place, number(others.length));
  return say("Tied for {0} with {1}", place, joined(others.map(({ no }) => say("Site {0}", no))));
}

// The new order on the page: the chosen site stays the chosen one. What is not seen follows when it
// is; the address, and how firm the new order is, when the slider rests.
function useWeights(own) {
  const here = study.sites[chosen];
  weights.own = own;
  scoreSites();
  chosen = here.place;
  whenItRests();
  showOrder();
  showPriorities();
  showComparing();
}

function showOrder() {
  showAnswer();
  fillRanking();
  tellDistrict();
  choosePads();
  if (!byId("view-ranking").hidden) showChosen();
  redrawOrder();
  markStops();
}
