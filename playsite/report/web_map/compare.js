// Two sites side by side: a finding, every criterion with the value curve behind it, shares, cost.

const compare = { sites: [] };
const MOST_TO_COMPARE = 60;

function drawComparing() {
  byId("tab-compare").hidden = study.adopted < 2;
  ["one", "other"].forEach((id, i) => byId(id).addEventListener("change", () => {
    compare.sites[i] = study.sites.find((site) => String(site.no) === byId(id).value);
    showComparing();
  }));
}

// From a card: this site beside the leader, the leader beside the next.
function compareWith(site) {
  compare.sites = site === study.sites[0] ? [site, study.sites[1]] : [study.sites[0], site];
  showView("compare");
  showComparing();
  byId("one").focus();
}

function showComparing() {
  if (study.ranked < 2 || byId("view-compare").hidden) return;
  if (compare.sites.length < 2 || compare.sites.some((site) => site.status !== RANKED)) compare.sites = study.sites.slice(0, 2);
  const foremost = study.sites.slice(0, Math.min(study.ranked, MOST_TO_COMPARE));
  const offered = [...new Set([...foremost, ...compare.sites])];
  ["one", "other"].forEach((id, i) => {
    byId(id).replaceChildren(...offered.map((site) => el("option", { value: site.no }, siteTitle(site))));
    byId(id).value = String(compare.sites[i].no);
  });
  const [one, other] = compare.sites;
  byId("finding").replaceChildren(...findingOf(one, other));
  byId("beside").replaceChildren(...(one === other ? [] : [comparingTable(one, other), ...sharesOfRanks(one, other), ...settling(one, other)]));
}

// Who is ahead, by how much, and on what each scores higher: what moves the score most comes first.
function findingOf(one, other) {
  if (one === other) return [say("Choose two sites.")];
  const bold = (site) => el("b", {}, say("Site {0}", site.no)), [ahead, behind] = one.total >= other.total ? [one, other] : [other, one];
  const shares = sharesOf(weights.own), gains = study.scores.map((column, k) => {
    const [a, b] = [column[ahead.row], column[behind.row]];
    return { k, gain: Number.isNaN(a - b) ? 0 : (a - b) * shares[k] };
  });
  const names = (some) => joined(some.slice(0, 3).map(({ k }) => study.criteria[k].said));
  const more = gains.filter(({ gain }) => gain >= 0.0005).sort((a, b) => b.gain - a.gain), less = gains.filter(({ gain }) => gain <= -0.0005).sort((a, b) => a.gain - b.gain);
  const lead = (ahead.total - behind.total) * 100, points = lead < 0.05 ? say("under {0}", "0.1") : lead.toFixed(1), chance = chanceOf(ahead, behind);
  const said = [];
  if (chance !== null && chance < study.firm.separable && ahead.total !== behind.total) said.push(say("Too close to call."), " ");
  if (ahead.total === behind.total) said.push(...sayNodes("{0} and {1} are tied.", bold(one), bold(other)));
  else said.push(...sayNodes("{0} is {1} points ahead of {2}.", bold(ahead), points, bold(behind)));
  if (more.length) said.push(" ", ...sayNodes("{0} gains most on {1}.", bold(ahead), names(more)));
  if (less.length) said.push(" ", ...sayNodes("{0} scores higher on {1}.", bold(behind), names(less)));
  if (!less.length && more.length) said.push(" ", say("It is behind in nothing."));
  return said;
}

function comparingTable(one, other) {
  const body = el("tbody", {}), both = [one, other];
  for (const [group, ks] of criteriaByGroup()) {
    const counting = ks.filter((k) => weights.own[k]);
    if (counting.length) body.append(el("tr", { class: "group" }, el("th", { colspan: 3, scope: "rowgroup" }, say(group))));
    for (const k of counting) body.append(...criterionRows(study.criteria[k], k, both));
  }
  const plainRow = (name, ...cells) => body.append(el("tr", {}, el("th", { scope: "row" }, name), cells.map((cell) => el("td", {}, cell))));
  body.append(el("tr", { class: "group" }, el("th", { colspan: 3, scope: "rowgroup" }, say("In all"))));
  plainRow(say("Score"), ...both.map((site) => [el("b", {}, String(site.score)), site.range ? ", " + site.range : ""]));
  if (study.shows_order) plainRow(say("Rank"), ...both.map((site) => ordinal(site.rank)));
  if (both.some((site) => site.price)) {
    plainRow(say("Cost, even odds"), ...both.map((site) => site.price?.[0] || say("not known")));
    plainRow(say("Cost, budget"), ...both.map((site) => site.price?.[1] || say("not known")));
  }
  plainRow(say("Lot"), ...both.map((site) => said(site.area)));
  plainRow(say("Conditions"), ...both.map((site) => String((site.conditions || []).length)));
  plainRow(say("Not known yet"), ...both.map((site) => String((site.tasks || []).length)));
  return el("table", { class: "beside" },
    el("thead", {}, el("tr", {}, el("th", { scope: "col" }, el("span", { class: "vh" }, say("Criterion"))),
      both.map((site) => el("th", { scope: "col" }, say("Site {0}", site.no), el("small", {}, el("bdi", {}, site.name || "")))))), body);
}

// The row, and under it, on demand, the curve that turns its value into a score.
function criterionRows(criterion, k, both) {
  const rows = both.map((site) => (site.measured || []).find((row) => row[0] === k));
  const cells = both.map((site, i) => {
    const row = rows[i];
    if (!row) return el("td", {}, say("unknown"));
    return el("td", { class: leads(k, site, both[1 - i]) ? "better" : "" }, sign("m-" + WORDS[row[3]], 14, 14, say(WORDS[row[3]])), " ", textAt(row[1]));
  });
  const below = el("tr", { hidden: "" }, el("td", { colspan: 3 }));
  const open = el("button", { type: "button", "aria-expanded": "false" }, say(said(criterion.plain)));
  open.addEventListener("click", () => {
    below.hidden = !below.hidden;
    open.setAttribute("aria-expanded", String(!below.hidden));
    if (!below.hidden) below.firstChild.replaceChildren(curveOf(criterion, k, both));
  });
  return [el("tr", {}, el("th", { scope: "row" }, open), cells), below];
}

// Ahead by more than measuring errors explain: even its low end is above the other's high end.
function leads(k, site, rival) {
  const least = study.spans[k]?.[site.row], most = study.spans[k]?.[rival.row];
  return Boolean(least && most) && least[0] > most[1];
}

function sharesOfRanks(one, other) {
  const rows = [one, other].map((site) => [site, isOwn() ? sure.told?.shares(site) : study.firm.shares[site.id]]);
  if (rows.some(([, shares]) => !shares)) return [];
  return [el("h2", {}, say("In how many of 100 ways of weighing it has each rank")), ...rows.map(([site, shares]) => rankBar(site, shares)),
    el("p", { class: "note" }, isOwn() ? say("{0} weightings up to 50% above and below your own.", number(sure.told.count)) : say("10,000 weightings up to 50% above and below the adopted ones."))];
}

function rankBar(site, shares) {
  const parts = [...shares, Math.max(0, 1 - shares.reduce((sum, share) => sum + share, 0))].map((share) => Math.round(share * 100));
  const names = parts.map((part, i) => (i < shares.length ? ordinal(i + 1) : say("lower")));
  const told = parts.map((part, i) => (part ? say("{0}: {1}", names[i], part) : "")).filter(Boolean).join(", ");
  const node = svg("svg", { class: "shares", viewBox: "0 0 400 24", role: "img", "aria-label": say("Site {0}", site.no) + ". " + told });
  let x = 0;
  parts.forEach((part, i) => {
    if (part) node.append(svg("rect", { class: "r" + i, x, y: 1, width: part * 4, height: 22 }), part > 7 ? svg("text", { class: "r" + i, x: x + part * 2, y: 16 }, `${names[i]}: ${part}`) : "");
    x += part * 4;
  });
  return el("div", { class: "rankshares" }, el("b", {}, say("Site {0}", site.no)), node);
}

function settling(one, other) {
  const words = [say("A wedge marks a lead larger than the measuring error.")];
  if (isOwn()) words.push(" ", say("With your own weights, worked out on this page."));
  else {
    const pair = study.firm.near.find(([ahead, behind]) => [one.id, other.id].includes(ahead) && [one.id, other.id].includes(behind));
    if (pair?.[3]) words.push(" ", pair[3]);
  }
  return [el("p", { class: "note" }, words)];
}
