// How sure a lead is, under any weights, by the same chance numbers as the study's own: each row of
// them belongs to a name. Nothing here knows the page.

const DRAWS = 10000, SPREAD = 0.5, Z95 = 1.6448536269514722;

function hashed(name) {
  let value = 0x811c9dc5;
  for (const byte of new TextEncoder().encode("0\n" + name)) value = Math.imul(value ^ byte, 0x01000193);
  return scattered(value);
}

function scattered(word) {
  word = Math.imul(word ^ (word >>> 16), 0x85ebca6b);
  word = Math.imul(word ^ (word >>> 13), 0xc2b2ae35);
  return word ^ (word >>> 16);
}

function wordAt(start, i) {
  return scattered((start + Math.imul(i + 1, 0x9e3779b9)) | 0) >>> 0;
}

// Weighted scores of sites, drawn together: what all sites share of an error is drawn once for all
// of them, the rest for each. `normal` is the lower half of the table of draws, lowest first; a site
// has its id and, a criterion each, its score, the [least, most] it may be, and what it shares.
function drawnTotals(weights, names, sites, normal) {
  const shares = sharesOf(weights), half = normal.length, drawn = sites.map(() => new Float64Array(DRAWS)), z = new Float64Array(2 * half);
  for (let i = 0; i < half; i++) z[2 * half - 1 - i] = -(z[i] = normal[i]);
  const shift = 32 - Math.log2(2 * half), ofAll = new Float64Array(DRAWS);
  names.forEach((name, k) => {
    if (!shares[k]) return;
    const start = hashed(name);
    for (let i = 0; i < DRAWS; i++) ofAll[i] = z[wordAt(start, i) >>> shift];
    sites.forEach((site, s) => addDrawn(drawn[s], site, k, shares[k], hashed(site.id + "\n" + name), (word) => z[word >>> shift], ofAll));
  });
  return drawn;
}

function addDrawn(sum, { scores, spans, common }, k, share, start, zOf, ofAll) {
  const score = scores[k], [least, most] = spans[k] || (Number.isNaN(score) ? [0, 1] : [score, score]);
  if (Number.isNaN(score)) {
    for (let i = 0; i < DRAWS; i++) sum[i] += share * (least + (most - least) * ((wordAt(start, i) + 0.5) / 2 ** 32));
    return;
  }
  const low = Math.min(least, score), high = Math.max(most, score), part = common[k] || 0, own = Math.sqrt(1 - part * part);
  if (low === high) {
    for (let i = 0; i < DRAWS; i++) sum[i] += share * score;
    return;
  }
  for (let i = 0; i < DRAWS; i++) {
    const z = part * ofAll[i] + own * zOf(wordAt(start, i)), reach = z > 0 ? high - score : score - low;
    sum[i] += share * Math.min(Math.max(score + (reach * z) / Z95, 0), 1);
  }
}

// Share of joint draws in which one is ahead; equal ones, to 9 places, count half.
function chanceAhead(one, other) {
  let twice = 0;
  for (let i = 0; i < one.length; i++) {
    const gap = (one[i] - other[i]) * SAME;
    twice += gap > 0.5 ? 2 : gap < -0.5 ? 0 : 1;
  }
  return twice / (2 * one.length);
}

// 5th and 95th percentile, straight between neighbors.
function likelyEnds(drawn) {
  const sorted = drawn.slice().sort();
  return [0.05, 0.95].map((part) => {
    const at = part * (sorted.length - 1), below = Math.floor(at);
    return sorted[below] + (at - below) * (sorted[below + 1] - sorted[below]);
  });
}

// In what share of weightings, each weight moved by up to half of itself apart from the others, has
// a site rank 1, 2 and so on? Shares by row, of the rows that have a chance; what is unknown stands at
// its middle. `most` bounds the work: of very many sites in the running fewer weightings are tried.
function rankShares(weights, names, columns, score, depth, most) {
  const used = names.map((name, k) => k).filter((k) => weights[k] > 0), shares = sharesOf(weights);
  const groups = alike(inTheRunning(used, shares, columns, score, depth), used, columns);
  const count = Math.max(Math.min(DRAWS, Math.floor(most / (groups.length * used.length))), 500);
  const drawn = groups.map(() => new Float64Array(count)), factors = new Float64Array(count);
  for (const k of used) {
    const start = hashed("weight\n" + names[k]);
    for (let i = 0; i < count; i++) factors[i] = shares[k] * (1 - SPREAD + 2 * SPREAD * ((wordAt(start, i) + 0.5) / 2 ** 32));
    groups.forEach(([row], place) => {
      const value = orMiddle(columns[k][row]), sum = drawn[place];
      for (let i = 0; i < count; i++) sum[i] += factors[i] * value;
    });
  }
  const tally = counted(groups, drawn, count, depth);
  return { count, of: new Map(groups.flatMap((rows, place) => rows.map((row) => [row, Array.from(tally[place], (times) => times / count)]))) };
}

// Those of which fewer than `depth` others are surely ahead, wherever the weights are moved.
function inTheRunning(used, shares, columns, score, depth) {
  const order = Array.from(score.keys()).filter((row) => !Number.isNaN(score[row])).sort((a, b) => score[b] - score[a]), rivals = order.slice(0, 3 * depth);
  return order.filter((row) => {
    let ahead = 0;
    for (const rival of rivals) {
      let most = 0; // of this one's lead, at the weights that are best for it
      for (const k of used) {
        const lead = (orMiddle(columns[k][row]) - orMiddle(columns[k][rival])) * shares[k];
        most += lead * (lead > 0 ? 1 + SPREAD : 1 - SPREAD);
      }
      if (most < -1e-8 && ++ahead >= depth) return false;
    }
    return true;
  });
}

// Sites that have the same of everything stand together.
function alike(rows, used, columns) {
  const groups = new Map();
  for (const row of rows) {
    const key = used.map((k) => rounded(orMiddle(columns[k][row]), SAME)).join();
    groups.set(key, groups.get(key) || []).get(key).push(row);
  }
  return [...groups.values()];
}

function counted(groups, drawn, count, depth) {
  const tally = groups.map(() => new Float64Array(depth)), best = new Int32Array(depth);
  for (let i = 0; i < count; i++) {
    let kept = 0;
    for (let place = 0; place < groups.length; place++) {
      const total = drawn[place][i];
      let at = kept < depth ? kept++ : total > drawn[best[depth - 1]][i] ? depth - 1 : -1;
      if (at < 0) continue;
      for (; at && drawn[best[at - 1]][i] < total; at--) best[at] = best[at - 1];
      best[at] = place;
    }
    // equal sites take as many places as they are
    for (let at = 0, rank = 0; at < kept && rank < depth; rank += groups[best[at++]].length) tally[best[at]][rank]++;
  }
  return tally;
}
