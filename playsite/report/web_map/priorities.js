// Priorities moved by the reader: a slider and a field for each group, and for each criterion in it.

const GROUP_MOST = 40, CRITERION_MOST = 20;
const priorities = { rows: [] };

function drawPriorities() {
  byId("tab-priorities").hidden = !study.rows.length;
  byId("sliders").append(...criteriaByGroup().map(groupOfSliders));
  byId("adopted").addEventListener("click", () => {
    useWeights(weights.adopted.slice());
    byId("tab-priorities").focus(); // the button has no more to do
  });
}

function groupOfSliders([group, ks], i) {
  const name = say(group), each = el("div", { class: "each", id: "each-" + i, hidden: "" }, ks.map((k) => slider(() => say(said(study.criteria[k].plain)), [k], CRITERION_MOST)));
  const open = el("button", { type: "button", class: "open", "aria-expanded": "false", "aria-controls": each.id, "aria-label": say("{0}: each on its own", name) }, "+");
  open.addEventListener("click", () => {
    each.hidden = !each.hidden;
    open.setAttribute("aria-expanded", String(!each.hidden));
    open.textContent = each.hidden ? "+" : "\u2212";
  });
  const row = slider(() => name, ks, GROUP_MOST);
  if (ks.length > 1) row.append(open);
  return el("div", { role: "group", "aria-label": name }, row, each);
}

// The dashed tick stands at the adopted weight.
function slider(nameOf, ks, usual) {
  const adopted = sumOf(weights.adopted, ks), most = Math.max(usual, Math.ceil(adopted / 5) * 10);
  const track = el("input", { type: "range", min: 0, max: most, step: 0.5 });
  const field = el("input", { type: "number", min: 0, max: MOST_WEIGHT, step: "any" }), label = el("span", {});
  const part = adopted / most, tick = el("i", { class: "adopted", style: `inset-inline-start:calc(${(part * 100).toFixed(2)}% + ${(6.5 - 13 * part).toFixed(2)}px)` });
  for (const input of [track, field]) input.addEventListener("input", () => { if (input.value !== "") moveWeights(ks, Number(input.value), input); });
  field.addEventListener("change", showPriorities);
  priorities.rows.push({ ks, track, field, label, nameOf });
  return el("div", { class: "weigh" }, label, el("div", { class: "track" }, tick, track), field);
}

// In feet or in metres: some names have a distance in them.
function namePriorities() {
  for (const { track, field, label, nameOf } of priorities.rows) {
    label.textContent = nameOf();
    track.setAttribute("aria-label", nameOf());
    field.setAttribute("aria-label", say("{0}: weight", nameOf()));
  }
}

function sumOf(all, ks) {
  return ks.reduce((sum, k) => sum + all[k], 0);
}

// Those of a group keep their proportions.
function moveWeights(ks, value, input) {
  const own = weights.own.slice(), before = [weights.own, weights.adopted].find((all) => sumOf(all, ks) > 0) || own.map(() => 1);
  const factor = Math.min(Math.max(value, 0), MOST_WEIGHT) / sumOf(before, ks);
  for (const k of ks) {
    own[k] = rounded(before[k] * factor, 100);
    if (Math.abs(own[k] - weights.adopted[k]) < 0.011) own[k] = weights.adopted[k];
  }
  priorities.moving = input;
  if (own.some((weight) => weight > 0)) useWeights(own);
  else byId("lever").textContent = say("Something has to count: give one of them more than 0.");
  priorities.moving = null;
}

function showPriorities() {
  if (!study.rows.length) return;
  for (const { ks, track, field } of priorities.rows) {
    const weight = Math.round(sumOf(weights.own, ks) * 10) / 10;
    track.value = weight;
    track.setAttribute("aria-valuetext", say("{0}, adopted {1}", weight, Math.round(sumOf(weights.adopted, ks) * 10) / 10));
    if (field !== priorities.moving) field.value = weight;
  }
  byId("lever").replaceChildren(...leverNodes());
  byId("adopted").disabled = !isOwn();
  byId("whose").textContent = isOwn() ? say("Your weights. Nothing is saved or sent; the address of this page keeps them.") : say("These are the adopted weights; they add up to 100. Only their proportions count.");
  byId("tooless").textContent = tooLittleKnown();
  showFirmness();
}

function showNewOrder() {
  byId("order").replaceChildren(...study.sites.slice(0, Math.min(study.ranked, 10)).map((site) =>
    el("li", {}, chip(site), el("b", {}, say("Site {0}", site.no)), isTied(site) ? tieMark() : "", el("span", {}, String(site.score)))));
}

function leverNodes() {
  if (!study.ranked) return [say("No site is ranked with these weights: too little is known.")];
  if (!study.shows_order) return [say("With so few sites no order is given; the scores follow the weights.")];
  const leaders = sharing(1).map((site) => say("Site {0}", site.no));
  if (leaders.length > 4) return [say("{0} sites are tied for first.", number(leaders.length))];
  if (leaders.length > 1) return sayNodes("{0} are tied.", el("b", {}, joined(leaders)));
  const bold = (text) => el("b", {}, text), first = bold(leaders[0]);
  const told = leadLost(weights.own, study.scores, weights.now ? weights.now.ranks : Uint32Array.from(study.rows, (site) => site.rank || 0)).map(({ factor, criterion, rival }) =>
    [bold(study.criteria[criterion].said), bold(factorText(factor)), bold(say("Site {0}", study.rows[rival].no))]);
  if (!told.length) return sayNodes("Still {0}, whichever one weight is moved, and however far.", first);
  if (told.length === 1) return sayNodes("Still {0} until {1} counts {2} times as much as now. Then {3} leads.", first, ...told[0]);
  return sayNodes("Still {0} until {1} counts {2} times as much as now (then {3} leads) or {4} counts {5} times as much (then {6} leads).", first, ...told.flat());
}

// Two figures that mean something.
function factorText(factor) {
  if (factor < 0.005) return say("under {0}", "0.01");
  return factor >= 10 ? number(Math.round(factor)) : factor.toFixed(factor < 1.1 ? 2 : 1);
}

// By the study's own rule a site of which too little is known is not ranked: who that is now, and was.
function tooLittleKnown() {
  const changed = (status) => study.rows.filter((site) => site.status === status && site.given.status !== status);
  const out = changed(NOT_ASSESSED), back = changed(RANKED);
  return [out.length ? say("Not ranked with these weights, since too little is known: {0}. The study ranks a site from {1} of the weight on.", namesOf(out), percent(study.least_known)) : "",
    back.length ? say("Ranked with these weights, since enough is known now: {0}.", namesOf(back)) : ""].filter(Boolean).join(" ");
}

// The head of the page: with other weights no picture of it can pass as the adopted result.
function showAnswer() {
  const head = byId("answer");
  priorities.adopted ||= [...head.childNodes];
  byId("own").hidden = !isOwn();
  head.replaceChildren(...(isOwn() ? ownAnswer() : priorities.adopted));
  byId("own-tally").textContent = study.ranked === study.adopted ? "" : ownTally();
  fitAnswer();
}

function ownTally() {
  if (!study.ranked) return say("With your own weights none is ranked.");
  return study.ranked === 1 ? say("With your own weights one is ranked.") : say("With your own weights {0} are ranked.", number(study.ranked));
}

function ownAnswer() {
  if (!study.ranked) return [say("No site is ranked with these weights: too little is known.")];
  if (!study.shows_order) return study.adopted < FEWEST_IN_ORDER ? priorities.adopted : [study.ranked === 1 ? say("One site is ranked with these weights.") : say("{0} sites are ranked. Compare them side by side.", number(study.ranked))];
  const leaders = sharing(1), bold = (text) => el("b", {}, text);
  if (leaders.length > 4) return [say("{0} sites are tied for first.", number(leaders.length))];
  if (leaders.length > 1) return sayNodes("{0} are tied.", bold(joined(leaders.map((site) => say("Site {0}", site.no)))));
  const [site] = leaders, name = bold(say("Site {0}", site.no)), near = sure.told?.close || [];
  if (!near.length) return site.name ? sayNodes("{0}, {1}, comes first.", name, site.name) : sayNodes("{0} comes first.", name);
  const rivals = near.length > 3 ? say("{0} others", number(near.length)) : bold(namesOf(near));
  if (near.length > 1) return site.name ? sayNodes("{0}, {1}, comes first, but {2} are too close to call.", name, site.name, rivals) : sayNodes("{0} comes first, but {1} are too close to call.", name, rivals);
  return site.name ? sayNodes("{0}, {1}, comes first, but {2} is too close to call.", name, site.name, rivals) : sayNodes("{0} comes first, but {1} is too close to call.", name, rivals);
}
