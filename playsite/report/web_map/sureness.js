// How firm the order is under the reader's own weights: worked out for the foremost sites, when the
// slider rests. At the adopted weights the study's own words stand.

const FOREMOST = 12, RANKS_TOLD = 5, RESTS_MS = 150, MOST_WORK = 2e7;
const sure = { timer: 0, told: null };

function whenItRests() {
  clearTimeout(sure.timer);
  sure.told = null;
  sure.timer = setTimeout(() => {
    keepAddress();
    if (isOwn() && study.shows_order) tellHowFirm();
  }, RESTS_MS);
}

function tellHowFirm() {
  sure.told = howFirm();
  showOrder();
  showFirmness();
  showComparing();
}

function howFirm() {
  const names = study.criteria.map((criterion) => criterion.name), foremost = study.sites.slice(0, Math.min(study.ranked, FOREMOST)).filter((site) => site.row !== undefined);
  const { count, of } = rankShares(weights.own, names, study.scores, weights.now.score.map((total, row) => (weights.now.ranks[row] ? total : NaN)), RANKS_TOLD, MOST_WORK);
  const drawn = drawnOf(foremost), leader = isShared(foremost[0]) ? null : foremost[0];
  const near = foremost.flatMap((one, i) => foremost.slice(i + 1).filter((other) => drawn.has(one) && drawn.has(other) && one.rank !== other.rank)
    .map((other) => ({ one, other, chance: chanceAhead(drawn.get(one), drawn.get(other)) }))).filter(({ chance }) => chance < study.firm.separable);
  return { count, foremost, near, shares: (site) => of.get(site.row) || new Array(RANKS_TOLD).fill(0), close: near.filter(({ one }) => one === leader).map(({ other }) => other),
    ends: (site) => drawn.has(site) && likelyEnds(drawn.get(site)).map(wholePoints) };
}

// Draws of those sites of which the page has the intervals.
function drawnOf(sites) {
  const names = study.criteria.map((criterion) => criterion.name), known = sites.filter(hasIntervals);
  const drawn = drawnTotals(weights.own, names, known.map(({ id, row }) => ({
    id, scores: study.scores.map((column) => column[row]), spans: study.spans.map((column) => column[row]),
    common: study.common.map((column) => (Array.isArray(column) ? column[row] : column)),
  })), study.normal);
  return new Map(known.map((site, i) => [site, drawn[i]]));
}

function hasIntervals(site) {
  return site.row < (study.spans[0]?.length ?? 0);
}

function tooClose() {
  return isOwn() ? (sure.told?.close || []).map((site) => site.id) : study.firm.close;
}

// Chance that the one ahead of two sites is truly ahead; null where it is not known.
function chanceOf(ahead, behind) {
  if (!isOwn()) return study.firm.near.find(([one, other]) => [one, other].includes(ahead.id) && [one, other].includes(behind.id))?.[2] ?? null;
  const drawn = drawnOf([ahead, behind]);
  return drawn.size === 2 ? chanceAhead(drawn.get(ahead), drawn.get(behind)) : null;
}

function showFirmness() {
  byId("sure").replaceChildren(...(sure.told ? sureWords() : []));
  showNewOrder();
}

// Below the sentence of the lead: who is too close, and in how many weightings each comes first.
function sureWords() {
  const { close, foremost, shares } = sure.told;
  const firsts = foremost.map((site) => [site, shares(site)[0]]).filter(([, share]) => share > 0).sort((a, b) => b[1] - a[1]);
  const told = firsts.slice(0, 3).map(([site, share]) => say("Site {0} in {1}", site.no, shareText(share)));
  return [close.length ? el("p", {}, say("Too close to call on present data: {0}.", namesOf(close))) : "",
    el("p", {}, say("First in {0} weightings up to 50% above and below your own: {1}.", number(sure.told.count), joined(firsts.length > 3 ? [...told, say("others in the rest")] : told)))].filter(Boolean);
}

function namesOf(sites) {
  return sites.length > 3 ? say("{0} sites", number(sites.length)) : joined(sites.map((site) => say("Site {0}", site.no)));
}

// The card's sentences, as the study's own are made.
function sureOf(site) {
  if (!sure.told) return [];
  const { count, foremost, near, shares, ends } = sure.told;
  if (!foremost.includes(site)) return [say("How firm a place is, is worked out for the {0} foremost sites.", FOREMOST)];
  const rivals = near.filter(({ one, other }) => one === site || other === site).map(({ one, other }) => (one === site ? other : one));
  const own = shares(site), three = own[0] + own[1] + own[2];
  return [rivals.length ? say("Too close to call against {0}: not separable on present data.", namesOf(rivals)) : "",
    three ? say("First in {0} of {1} weightings up to 50% above and below your own, among the first three in {2}.", shareText(own[0]), number(count), shareText(Math.min(three, 1)))
      : say("Never among the first three in {0} weightings up to 50% above and below your own.", number(count)),
    ends(site) ? say("With measuring errors and unknowns together its score is likely {0} to {1} (9 in 10).", ...ends(site))
      : say("Whether it can be told from others is not known here: this page has the intervals of the foremost sites under the adopted weights.")].filter(Boolean);
}

// In whole percents: chance draws know no more.
function shareText(share) {
  const whole = Math.round(share * 100);
  return share <= 0 ? say("none") : share >= 1 - 1e-9 ? say("all") : whole < 1 ? say("under 1%") : whole > 99 ? say("over 99%") : whole + "%";
}
