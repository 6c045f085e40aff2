// Grade of the ground at the scale of a play area, over the foremost lots: the steeper, the steeper and denser the lines.

function drawGrades() {
  over.drawers.push(placeGradeAreas);
}

function placeGradeAreas() {
  const group = over.groups.grades;
  group.replaceChildren();
  if (hidden.has("grades")) return;
  for (const site of study.sites) {
    if (!site.grades || !isInView(site)) continue;
    for (const [number, shape] of site.grades) group.append(svg("path", { class: number < 0 ? "unknown" : "g" + number, d: shapePath(unstepAll(shape)) }));
  }
}
