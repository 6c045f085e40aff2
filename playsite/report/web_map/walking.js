// The walk from one place to others along the ways on foot. Nothing here knows the page: places are
// [x, y] in metres, a way is { a, b, length, side, points }, with the nodes at its ends.

const AS_NEAR_M = 5; // a way this much farther off than the nearest one is tried too

function walkNetwork(ways) {
  const meets = new Map(), add = (node, way) => meets.set(node, meets.get(node) || []).get(node).push(way);
  for (const way of ways) {
    add(way.a, way);
    add(way.b, way);
    way.drawn = way.points.length ? lengthOfLine(way.points) : 0;
  }
  return { ways, meets };
}

function lengthOfLine(points) {
  return points.slice(1).reduce((sum, [x, y], i) => sum + Math.hypot(x - points[i][0], y - points[i][1]), 0);
}

// Nearest place on a way: how far off, and how far along the way it is.
function nearestOn(way, [x, y]) {
  let best = { off: Infinity };
  let run = 0;
  for (let i = 1; i < way.points.length; i++) {
    const [ax, ay] = way.points[i - 1], [bx, by] = way.points[i], dx = bx - ax, dy = by - ay, long = Math.hypot(dx, dy);
    const t = long ? Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / (long * long))) : 0;
    const at = [ax + t * dx, ay + t * dy], off = Math.hypot(x - at[0], y - at[1]);
    // Of a busy street's two sides only the near one can be stepped on.
    const left = dx * (y - ay) - dy * (x - ax);
    if (off < best.off && !(way.side && off > 0.5 && left * way.side < 0)) best = { off, way, at, from: [x, y], along: (run + t * long) * (way.drawn ? way.length / way.drawn : 0) };
    run += long;
  }
  return best;
}

// Where a place, or any of several, is joined to the ways.
function joinsOf(network, places) {
  const found = [];
  for (const way of network.ways) {
    if (!way.points.length) continue;
    const best = places.map((place) => nearestOn(way, place)).reduce((a, b) => (b.off < a.off ? b : a));
    if (best.off < Infinity) found.push(best);
  }
  const least = Math.min(...found.map(({ off }) => off));
  return found.filter(({ off }) => off <= least + AS_NEAR_M);
}

// Shortest length to every node (Dijkstra 1959).
function reachFrom(network, joins) {
  const reach = new Map(), heap = [];
  const push = (length, node, way, from) => {
    let i = heap.push({ length, node, way, from }) - 1;
    while (i && heap[(i - 1) >> 1].length > heap[i].length) {
      const up = (i - 1) >> 1;
      [heap[i], heap[up]] = [heap[up], heap[i]];
      i = up;
    }
  };
  const pop = () => {
    const top = heap[0], last = heap.pop();
    if (!heap.length) return top;
    heap[0] = last;
    for (let i = 0; ;) {
      const left = 2 * i + 1, right = left + 1;
      let least = i;
      if (left < heap.length && heap[left].length < heap[least].length) least = left;
      if (right < heap.length && heap[right].length < heap[least].length) least = right;
      if (least === i) return top;
      [heap[i], heap[least]] = [heap[least], heap[i]];
      i = least;
    }
  };
  for (const join of joins) {
    push(join.off + join.along, join.way.a, null, join);
    push(join.off + join.way.length - join.along, join.way.b, null, join);
  }
  while (heap.length) {
    const here = pop();
    if (reach.has(here.node)) continue;
    reach.set(here.node, here);
    for (const way of network.meets.get(here.node)) {
      const other = way.a === here.node ? way.b : way.a;
      if (!reach.has(other)) push(here.length + way.length, other, way, here);
    }
  }
  return reach;
}

// The shortest walk between places joined so: its length and the line to draw; null where there is none.
function walkBetween(reach, starts, stops) {
  let best = null;
  const better = (length, make) => { if (!best || length < best.length) best = { length, make }; };
  for (const stop of stops) {
    for (const start of starts) {
      if (start.way === stop.way) better(start.off + Math.abs(start.along - stop.along) + stop.off, () => [start.from, ...partOf(stop.way, start.along, stop.along), stop.from]);
    }
    for (const [node, along] of [[stop.way.a, 0], [stop.way.b, stop.way.length]]) {
      const here = reach.get(node);
      if (here) better(here.length + Math.abs(stop.along - along) + stop.off, () => [...lineTo(here), ...partOf(stop.way, along, stop.along), stop.from]);
    }
  }
  return best && { length: best.length, line: best.make() };
}

function lineTo(here) {
  if (!here.way) return [here.from.from, ...partOf(here.from.way, here.from.along, here.node === here.from.way.a ? 0 : here.from.way.length)];
  const points = here.node === here.way.b ? here.way.points : here.way.points.slice().reverse();
  return [...lineTo(here.from), ...points];
}

// A way from one place along it to another, either way round.
function partOf(way, from, to) {
  const scale = way.drawn / way.length, [low, high] = [Math.min(from, to) * scale, Math.max(from, to) * scale], part = [];
  let run = 0;
  way.points.forEach((point, i) => {
    if (i) {
      const [ax, ay] = way.points[i - 1], long = Math.hypot(point[0] - ax, point[1] - ay);
      for (const cut of [low, high]) if (cut > run && cut < run + long) part.push([ax + ((point[0] - ax) * (cut - run)) / long, ay + ((point[1] - ay) * (cut - run)) / long]);
      run += long;
    }
    if (run >= low && run <= high) part.push(point);
  });
  return from <= to ? part : part.reverse();
}
