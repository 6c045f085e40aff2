// Scores, ranks and changes of the lead under any weights, by the same arithmetic as the study's
// own. Nothing here knows the page: scores come a column a criterion, 0 to 1, NaN where unknown.

const SAME = 1e9; // totals are rounded to 9 places before they are compared: ties are real
const MIDDLE = 0.5; // what is unknown stands here when two sites are held against each other

// To the nearest whole step, half to the even one.
function rounded(value, steps) {
  const scaled = value * steps, up = Math.round(scaled);
  return (up - scaled === 0.5 && up % 2 ? up - 1 : up) / steps;
}

function sharesOf(weights) {
  const sum = weights.reduce((all, weight) => all + weight, 0);
  return weights.map((weight) => weight / sum);
}

// Columns as the study gives them, null where unknown, as numbers: NaN where unknown.
function asColumns(lists) {
  return lists.map((list) => Float64Array.from(list, (score) => score ?? NaN));
}

// Of each site: the score from low, where what is unknown counts 0, to high, where it counts 1.
function totalsUnder(weights, columns) {
  const count = columns.length ? columns[0].length : 0, shares = sharesOf(weights);
  const [score, low, high, known, open] = [0, 0, 0, 0, 0].map(() => new Float64Array(count));
  columns.forEach((column, k) => {
    const share = shares[k];
    if (!share) return;
    for (let i = 0; i < count; i++) {
      if (Number.isNaN(column[i])) open[i] += share;
      else {
        low[i] += column[i] * share;
        known[i] += share;
      }
    }
  });
  for (let i = 0; i < count; i++) {
    score[i] = rounded(low[i] + open[i] / 2, SAME);
    high[i] = rounded(low[i] + open[i], SAME);
    low[i] = rounded(low[i], SAME);
    known[i] = rounded(known[i], SAME);
  }
  return { score, low, high, known };
}

// By the study's own rule: a site of which less of the weight is known is not ranked.
function isEnough(known, least) {
  return known * 100 >= least - SAME ** -1;
}

// Best first; equal scores share a rank: 1, 1, 3. One without a score, NaN, has none.
function ranksOf(scores) {
  const order = Array.from(scores.keys()).filter((i) => !Number.isNaN(scores[i])).sort((a, b) => scores[b] - scores[a]);
  const ranks = new Array(scores.length).fill(null);
  order.forEach((i, place) => {
    const before = order[place - 1];
    ranks[i] = place && scores[before] === scores[i] ? ranks[before] : place + 1;
  });
  return ranks;
}

function orMiddle(score) {
  return Number.isNaN(score) ? MIDDLE : score;
}

// How many times as much each criterion would have to count for two sites to draw level.
function levelFactors(weights, columns, ahead, behind) {
  const shares = sharesOf(weights);
  const own = columns.map((column, k) => (orMiddle(column[ahead]) - orMiddle(column[behind])) * shares[k]);
  const whole = own.reduce((all, part) => all + part, 0);
  return own.map((part) => {
    const factor = (whole - part) / -part;
    return factor > 0 && Number.isFinite(factor) && Math.abs(whole) >= 0.5 / SAME ? factor : null;
  });
}

// The two nearest ways in which one moved weight takes the lead from the one site that has it: the
// least factor above 1 and the greatest below. Nothing where the lead is shared.
function leadLost(weights, columns, ranks) {
  const leader = ranks.indexOf(1);
  if (leader < 0 || ranks.indexOf(1, leader + 1) >= 0) return [];
  let up = null, down = null;
  for (let rival = 0; rival < ranks.length; rival++) {
    if (rival === leader || ranks[rival] === null) continue;
    levelFactors(weights, columns, leader, rival).forEach((factor, criterion) => {
      if (factor > 1 && (!up || factor < up.factor)) up = { factor, criterion, rival };
      else if (factor !== null && factor < 1 && (!down || factor > down.factor)) down = { factor, criterion, rival };
    });
  }
  return [up, down].filter(Boolean);
}
