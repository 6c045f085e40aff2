// "Why not my lot?": find or tap any parcel, read the verdict, then where all the others went.

const FOUND_AT_MOST = 8;

function drawWhy() {
  byId("find").addEventListener("input", showFound);
  byId("find").addEventListener("keydown", (event) => {
    if (event.key === "Enter") document.querySelector("#found button")?.click();
  });
  drawTally();
}

function showFound() {
  const asked = byId("find").value.trim().toLowerCase(), list = byId("found");
  list.replaceChildren();
  if (!asked) return;
  const found = matches(asked);
  if (!found.length) list.append(el("li", { class: "none" }, say("No parcel of that number or name was looked at.")));
  for (const i of found) {
    const button = el("button", { type: "button" }, siteTitle(study.sites[i]) + ": " + say(STATES[study.sites[i].status]));
    button.addEventListener("click", () => {
      choose(i, { from: "find" });
      list.replaceChildren();
      byId("verdict").focus();
    });
    list.append(el("li", {}, button));
  }
}

function matches(asked) {
  const isIt = (site) => [String(site.no), "site " + site.no, site.id.toLowerCase(), say("Site {0}", site.no).replace(ISOLATES, "").toLowerCase()].includes(asked);
  const exact = study.sites.findIndex(isIt);
  const found = exact < 0 ? [] : [exact];
  for (let i = 0; i < study.sites.length && found.length < FOUND_AT_MOST; i++) {
    const site = study.sites[i];
    if (i !== exact && (siteTitle(site) + " " + site.id).replace(ISOLATES, "").toLowerCase().includes(asked)) found.push(i);
  }
  return found;
}

function showVerdict(site) {
  const title = apart(site.name || say("Site {0}", site.no)) + ": " + say(STATES[site.status]);
  const body = [el("h2", {}, title), el("p", {}, said(site.why) || say("{0}, score {1}.", standing(site), site.score))];
  if (site.status === RANKED && site.rank > 1) body.push(el("p", {}, findingOf(study.sites[0], site)));
  for (const words of site.conditions || []) body.push(el("p", { class: "conditions" }, said(words)));
  body.push(...wouldOf(site));
  const open = el("button", { type: "button", class: "btn" }, say("All that was measured there"));
  open.addEventListener("click", () => {
    showView("ranking");
    openCard(byId("tab-why"));
  });
  byId("verdict").replaceChildren(el("div", { class: "head" }, stateSign(site.status), el("div", {}, ...body)), ...ledgerOf(site), open);
}

function drawTally() {
  const counts = new Map();
  for (const site of study.sites) {
    if (site.status === RANKED) continue;
    const rule = said(site.rule);
    const entry = counts.get(rule) || { count: 0, status: site.status };
    entry.count++;
    counts.set(rule, entry);
  }
  const total = [...counts.values()].reduce((sum, entry) => sum + entry.count, 0);
  if (!total) return byId("tally").replaceChildren();
  const most = Math.max(...[...counts.values()].map((entry) => entry.count));
  const rows = [...counts].sort((a, b) => b[1].count - a[1].count).map(([rule, { count, status }]) =>
    el("tr", {}, el("td", {}, rule), el("td", {}, number(count)),
      el("td", {}, el("i", { class: "s" + status, style: `width:${((count / most) * 100).toFixed(1)}%` }))));
  byId("tally").replaceChildren(el("h2", {}, total === 1 ? say("Where the other parcel went") : say("Where the other {0} parcels went", number(total))),
    el("table", {}, el("tbody", {}, rows)),
    el("p", { class: "note" }, say("Each parcel is counted once, under the first rule that took it out. Rules are never bought back by a good score. “Could not be assessed” is not “bad”: the data does not reach there.")));
}
