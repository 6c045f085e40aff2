// Scores, ranks and changes of the lead under any weights, by the same arithmetic as the study's
// own. Nothing here knows the page: scores come a column a criterion, 0 to 1, NaN where unknown.

const SAME = 1e9; // totals are rounded to 9 places before they are compared: ties are real
const MOST_NUMBERS = 2 ** 20; // of sites
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

// Columns as the study gives them, as numbers: NaN where unknown. Of a very large town a column is packed
// in two bytes a score, 65535 where unknown.
function asColumns(given) {
  return given.map((column) => (typeof column === "string" ? unpacked(column) : Float64Array.from(column, (score) => score ?? NaN)));
}

function unpacked(letters) {
  const bytes = Uint8Array.from(atob(letters), (letter) => letter.charCodeAt(0)), scores = new Float64Array(bytes.length / 2);
  for (let i = 0; i < scores.length; i++) {
    const steps = bytes[2 * i] + 256 * bytes[2 * i + 1];
    scores[i] = steps === 65535 ? NaN : steps / 65534;
  }
  return scores;
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

// Places of scores, best first, of equal ones in the order of `numbers`; NaN has none. One sort of plain
// numbers: the score in 9 places and, below it, the site's number.
function orderOf(scores, numbers) {
  const keys = new Float64Array(scores.length), places = new Uint32Array(1 + numbers.reduce((most, number) => Math.max(most, number), 0));
  let count = 0;
  for (let i = 0; i < scores.length; i++) {
    if (Number.isNaN(scores[i])) continue;
    keys[count++] = Math.round((1 - scores[i]) * SAME) * MOST_NUMBERS + numbers[i];
    places[numbers[i]] = i;
  }
  return Uint32Array.from(keys.subarray(0, count).sort(), (key) => places[key % MOST_NUMBERS]);
}

// Equal scores share a rank: 1, 1, 3; one without a place has none, 0.
function ranksOf(scores, order) {
  const ranks = new Uint32Array(scores.length);
  order.forEach((i, place) => {
    const before = order[place - 1];
    ranks[i] = place && scores[before] === scores[i] ? ranks[before] : place + 1;
  });
  return ranks;
}

function orMiddle(score) {
  return Number.isNaN(score) ? MIDDLE : score;
}

// The two nearest ways in which one moved weight takes the lead from the one site that has it: the
// least factor above 1 and the greatest below. Nothing where the lead is shared. Two sites draw level
// where a criterion counts (whole - part) / -part times as much.
function leadLost(weights, columns, ranks) {
  const leader = ranks.indexOf(1), parts = new Float64Array(columns.length);
  if (leader < 0 || ranks.indexOf(1, leader + 1) >= 0) return [];
  const shares = sharesOf(weights);
  let up = null, down = null;
  for (let rival = 0; rival < ranks.length; rival++) {
    if (rival === leader || !ranks[rival]) continue;
    let whole = 0;
    for (let k = 0; k < parts.length; k++) whole += parts[k] = (orMiddle(columns[k][leader]) - orMiddle(columns[k][rival])) * shares[k];
    if (Math.abs(whole) < 0.5 / SAME) continue;
    for (let k = 0; k < parts.length; k++) {
      const factor = (whole - parts[k]) / -parts[k];
      if (!(factor > 0 && factor < Infinity)) continue;
      if (factor > 1 && (!up || factor < up.factor)) up = { factor, criterion: k, rival };
      else if (factor < 1 && (!down || factor > down.factor)) down = { factor, criterion: k, rival };
    }
  }
  return [up, down].filter(Boolean);
}
