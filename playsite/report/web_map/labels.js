// Words of what was measured at the chosen site: they give way to ranks, names, signs and one another.

const LABELS_FROM_METRES_PER_PIXEL = 2.2, LONG_ENOUGH_PX = 48, LETTER_PX = 11;
// Places beside a point, nearest first: right, left, above, below; then farther off.
const BESIDE = [[1, 0], [-1, 0], [0, -1], [0, 1], [1, -1], [-1, -1], [1, 1], [-1, 1], [0, -2], [0, 2]];

// From afar only what can be followed with the eye is named: the rest is on the card. The way a child could run always is.
function placeLabels(group) {
  if (over.metresPerPixel > LABELS_FROM_METRES_PER_PIXEL) return;
  const isNear = over.metresPerPixel <= PLAN_FROM_METRES_PER_PIXEL;
  const runs = over.measured.map((own) => ({ ...own, run: own.line.length > 1 ? longestRun(own.line) : own.line }));
  const kept = runs.filter(({ run, kind }) => run.length && (isNear || kind === "dash" || (kind !== "area" && lengthOf(run) >= LONG_ENOUGH_PX)));
  kept.sort((one, other) => (other.kind === "dash") - (one.kind === "dash") || other.weight - one.weight);
  for (const { run, words, kind } of kept) {
    const spots = [run[run.length - 1], alongAt(run, lengthOf(run) / 2)];
    // Near by, words may lie over a line sooner than be left out.
    const ways = textsOf(words, kind).flatMap((text) => (isNear ? [[text, false], [text, true]] : [[text, false]]));
    ways.some(([text, isOver]) => spots.some((spot) => labelBeside(group, spot, text, kind, run[0], isOver)));
  }
}

// Whole, or left out: a bare length says nothing. A child's run may be told by its seconds alone.
function textsOf(words, kind) {
  const [what, far] = words.split("\n"), whole = far ? what + ", " + far : what;
  return kind === "dash" && far ? [whole, what.split(", ").pop() + ", " + far] : [whole];
}

function labelBeside(group, at, text, kind, from, isOver) {
  const width = widthOf(text, LETTER_PX), side = at.x < from.x ? -1 : 1;
  for (const [across, down] of BESIDE) {
    const x = at.x + side * across * (width / 2 + 12), y = at.y + down * 16;
    if ((!isOver && crossesLine(x, y, width, LETTER_PX)) || !isFree(x, y, width + 6, LETTER_PX + 3)) continue;
    group.append(svg("text", { class: "label " + kind, x: x.toFixed(1), y: (y + 4).toFixed(1) }, text));
    return true;
  }
  return false;
}

function crossesLine(x, y, width, height) {
  const box = L.bounds([x - width / 2, y - height / 2], [x + width / 2, y + height / 2]);
  return over.measured.some(({ line, kind }) => kind !== "area" &&
    line.some((point, i) => i && L.LineUtil.clipSegment(line[i - 1], point, box, false, false)));
}
