// A value curve: what is measured against the score it gives, with a dot for each site.

const CURVE = { width: 400, height: 150, left: 34, right: 12, top: 16, bottom: 34 };

function curveOf(criterion, k, sites) {
  const knots = criterion.knots, read = sites.map((site) => study.reads[k]?.[site.row] ?? null);
  const known = read.filter((value) => value !== null), first = knots[0][0], last = knots[knots.length - 1][0], room = (last - first) * 0.15;
  const [least, most] = [first - room, last + room], inRange = (value) => Math.min(Math.max(value, least), most);
  const x = (value) => CURVE.left + ((inRange(value) - least) / (most - least)) * (CURVE.width - CURVE.left - CURVE.right);
  const y = (score) => CURVE.top + (1 - score) * (CURVE.height - CURVE.top - CURVE.bottom);
  const line = [[least, knots[0][1]], ...knots, [most, knots[knots.length - 1][1]]].map(([at, score], i) => (i ? "L" : "M") + x(at).toFixed(1) + " " + y(score).toFixed(1)).join("");
  const node = svg("svg", { class: "curve", viewBox: `0 0 ${CURVE.width} ${CURVE.height}`, role: "img", "aria-label": curveWords(criterion, k, sites) });
  for (const [score, words] of [[0, "0"], [0.5, "50"], [0.75, "75"], [1, "100"]]) {
    node.append(svg("path", { class: "grid", d: `M${CURVE.left} ${y(score)}H${CURVE.width - CURVE.right}` }), svg("text", { x: CURVE.left - 6, y: y(score) + 4, "text-anchor": "end" }, words));
  }
  node.append(svg("path", { class: "line", d: line }));
  let free = -Infinity;
  for (const [at, score, name, words] of knots) {
    node.append(svg("rect", { class: "knot", x: x(at) - 3, y: y(score) - 3, width: 6, height: 6 }));
    if (x(at) - free < 52) continue;
    free = x(at);
    node.append(svg("text", { x: x(at), y: CURVE.height - 18, "text-anchor": "middle" }, said(words)), svg("text", { class: "name", x: x(at), y: CURVE.height - 5, "text-anchor": "middle" }, say(name)));
  }
  sites.forEach((site, i) => {
    const score = study.scores[k][site.row];
    if (read[i] === null || Number.isNaN(score)) return;
    const at = x(read[i]), near = i && read[0] !== null && Math.abs(x(read[0]) - at) < 44;
    node.append(svg("path", { class: "drop", d: `M${at.toFixed(1)} ${y(score).toFixed(1)}V${y(0)}` }), svg("circle", { class: "dot", cx: at.toFixed(1), cy: y(score).toFixed(1), r: 5 }),
      svg("text", { class: "site", x: Math.min(Math.max(at, 46), CURVE.width - 34), y: Math.max(11, y(score) - 9) + (near ? 26 : 0), "text-anchor": "middle" }, say("Site {0}", site.no)));
  });
  const source = criterion.curve_source ? el("figcaption", {}, say("Corners: {0}.", criterion.curve_source), known.length < sites.length ? " " + say("Where nothing is known there is no dot.") : "") : "";
  return el("figure", { class: "curve" }, node, source);
}

function curveWords(criterion, k, sites) {
  const knots = criterion.knots.map(([, score, name, words]) => say("{0} at {1} gives {2}", say(name), said(words), Math.round(score * 100)));
  const dots = sites.map((site) => {
    const score = study.scores[k][site.row];
    return Number.isNaN(score) ? say("Site {0} unknown", site.no) : say("Site {0} has {1}", site.no, Math.round(score * 100));
  });
  return say("Value curve of {0}", said(criterion.plain)) + ". " + [...knots, ...dots].join("; ");
}
