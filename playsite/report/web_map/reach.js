// What can be walked to from the chosen site in 5 and in 10 minutes, way by way.

const REACHES = [["ten", 10], ["five", 5]];

function placeReach() {
  const group = over.groups.reach, site = study.sites[chosen];
  group.replaceChildren();
  if (hidden.has("reach") || !study.walks.length || !site.pad.length) return;
  const { back } = onPlane(), joins = joinsOfSite(site), lengths = (site.reach ||= reachFrom(walksOnFoot(), joins));
  for (const [name, minutes] of REACHES) {
    const most = minutes * WALKED_M_A_MINUTE;
    const parts = walksOnFoot().ways.filter((way) => way.points.length).flatMap((way) => reachedParts(way, lengths, joins, most));
    group.append(svg("path", { class: name, d: parts.map((part) => ringPath(part.map(back), false)).join("") }));
  }
}

// From either end as far as the rest of the walk lasts.
function reachedParts(way, lengths, joins, most) {
  const left = [way.a, way.b].map((node) => most - (lengths.get(node)?.length ?? Infinity)), own = joins.find((join) => join.way === way);
  if (own) {
    const room = most - own.off;
    return room > 0 ? [partOf(way, Math.max(0, own.along - room), Math.min(way.length, own.along + room))] : [];
  }
  if (left[0] + left[1] >= way.length) return [way.points];
  return [left[0] > 0 ? partOf(way, 0, Math.min(left[0], way.length)) : [], left[1] > 0 ? partOf(way, Math.max(0, way.length - left[1]), way.length) : []].filter((part) => part.length > 1);
}
