// Shade on the ground under one sun at a time, chosen among the layers.

function drawShades() {
  const sun = byId("sun");
  if (!sun) return;
  over.shades = study.shades.map(([, shape]) => unstepAll(shape));
  sun.append(...study.shades.map(([words], i) => el("option", { value: i }, words)));
  sun.addEventListener("change", redraw);
  over.drawers.push(placeShade);
}

function placeShade() {
  const shape = over.shades[byId("sun").value];
  over.root.classList.toggle("sunlit", Boolean(shape));
  over.groups.shade.replaceChildren(svg("path", { d: shapePath(shape || []) }));
}
