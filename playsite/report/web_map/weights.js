// The weights in use: the adopted ones, or the reader's own. Moving them measures nothing: each
// site keeps what was measured there, and only what follows from the weights is worked out anew.

const weights = { own: [], adopted: [], ranks: [], sharing: new Map() };
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

// A row of study.scores belongs to the ranked sites in their first order, then to those of which too
// little is known to be ranked; study.rows keeps them.
function keepGiven() {
  study.scores = asColumns(study.scores);
  study.ranked = study.sites.filter((site) => site.status === RANKED).length;
  study.adopted = study.ranked;
  const count = study.scores[0]?.length ?? 0, lacking = new Set(study.lacking);
  study.rows = [...study.sites.slice(0, Math.min(study.ranked, count - lacking.size)), ...study.sites.filter((site) => lacking.has(site.no))];
  study.rows.forEach((site, row) => { Object.assign(site, { row, given: Object.fromEntries(OF_WEIGHTS.map((name) => [name, site[name]])) }); });
  study.order = [...new Set([RANKED, NOT_ASSESSED, ...study.sites.map((site) => site.status)])];
}

const OF_WEIGHTS = ["status", "rank", "total", "score", "low", "high", "range", "known", "why", "short", "rule"];
const FEWEST_IN_ORDER = 4; // fewer are compared, not ranked

// At the adopted weights the study's own figures stand.
function scoreSites() {
  const before = study.rows.map((site) => site.status).join("");
  if (isOwn()) addUp();
  else for (const site of study.rows) Object.assign(site, site.given);
  if (before !== study.rows.map((site) => site.status).join("")) regroup();
  const ranked = study.rows.filter((site) => site.status === RANKED).sort((a, b) => a.rank - b.rank || a.no - b.no);
  weights.ranks = study.rows.map((site) => site.rank);
  ranked.forEach((site, i) => { study.sites[i] = site; });
  weights.sharing = new Map();
  for (const { rank, no } of ranked) weights.sharing.set(rank, weights.sharing.get(rank) || []).get(rank).push(no);
  study.sites.forEach((site, i) => { site.place = i; });
}

// Some are ranked that were not, or the other way about: each stands with its like, and is drawn anew.
function regroup() {
  const place = (site) => study.order.indexOf(site.status);
  study.sites.sort((a, b) => place(a) - place(b) || (a.status === RANKED ? (a.row ?? Infinity) - (b.row ?? Infinity) : a.no - b.no));
  study.ranked = study.sites.filter((site) => site.status === RANKED).length;
  study.shows_order = study.ranked >= FEWEST_IN_ORDER;
  forgetParcels();
}

function addUp() {
  const { score, low, high, known } = totalsUnder(weights.own, study.scores);
  const isRanked = Array.from(known, (share) => isEnough(share, study.least_known)), ranks = ranksOf(score.map((total, i) => (isRanked[i] ? total : NaN)));
  study.rows.forEach((site, i) => {
    site.status = isRanked[i] ? RANKED : NOT_ASSESSED;
    site.rank = ranks[i];
    site.total = score[i];
    [site.score, site.low, site.high] = [score[i], low[i], high[i]].map(wholePoints);
    site.range = site.low === site.high ? "" : say("likely {0} to {1}", site.low, site.high);
    site.known = known[i] > 0.995 ? "" : percent(known[i] * 100);
    if (isRanked[i]) site.why = site.short = site.rule = "";
    else Object.assign(site, { why: tooLittle(known[i]), short: say("not assessed"), rule: say(STATES[NOT_ASSESSED]) });
  });
}

function tooLittle(known) {
  return say("{0} of the weight in use is known; {1} is the least.", Math.round(known * 100) + "%", percent(study.least_known));
}

function wholePoints(share) {
  return Math.floor(rounded(share * 100, 1e7) + 0.5);
}

function isShared(site) {
  return study.shows_order && site.status === RANKED && weights.sharing.get(site.rank).length > 1;
}

function standing(site) {
  if (site.status !== RANKED) return capital(say(STATES[site.status]));
  if (!study.shows_order) return say("Passes every rule; with so few sites no order is given");
  const others = weights.sharing.get(site.rank).filter((no) => no !== site.no), place = ordinal(site.rank);
  if (!others.length) return say("{0} of {1}", place, number(study.ranked));
  if (others.length > 3) return say("Tied for {0} with {1} other sites", place, number(others.length));
  return say("Tied for {0} with {1}", place, joined(others.map((no) => say("Site {0}", no))));
}

// The new order on the page: the chosen site stays the chosen one. What is not seen follows when it
// is, and how firm the new order is when the slider rests.
function useWeights(own) {
  const here = study.sites[chosen];
  weights.own = own;
  scoreSites();
  chosen = here.place;
  askHowFirm();
  showOrder();
  showPriorities();
  showComparing();
  keepAddress();
}

function showOrder() {
  showAnswer();
  fillRanking();
  choosePads();
  if (!byId("view-ranking").hidden) showChosen();
  redraw();
  markStops();
}
