// "My district's sites": the table of one district, and its land on the map. Ranks stay the whole town's.

const mine = { place: -1 };

function drawDistricts() {
  const { names } = study.districts;
  if (!names) return;
  const choice = byId("district");
  byId("district-ask").hidden = false;
  choice.append(...names.map((name, place) => el("option", { value: place }, name)));
  choice.addEventListener("change", () => {
    mine.place = choice.value === "" ? -1 : Number(choice.value);
    drawRows();
    tellDistrict();
    redraw();
    markStops();
  });
}

function isMine(site) {
  return mine.place < 0 || site.district === mine.place;
}

function tellDistrict() {
  const name = study.districts.names?.[mine.place]; // on the screen the list beside it says it
  byId("district-told").replaceChildren(...(name ? [el("b", { class: "onpaper" }, el("bdi", {}, name), ": "), districtWords()] : []));
}

function districtWords() {
  const ranked = table.sites.filter((site) => site.status === RANKED).length;
  const gains = study.districts.gains[mine.place].slice(0, 3).map(([no, children]) => say("Site {0} ({1})", no, number(children)));
  return [
    ranked === 1 ? say("{0} of {1} parcels is ranked here; ranks are those of the whole town.", 1, number(table.sites.length))
      : say("{0} of {1} parcels are ranked here; ranks are those of the whole town.", number(ranked), number(table.sites.length)),
    gains.length ? say("Most children of this district would be newly served at {0}.", joined(gains)) : ""].filter(Boolean).join(" ");
}

// What lies outside is veiled; its pads stand back.
function placeDistrict() {
  const group = over.groups.district, { x, y } = over.size;
  group.replaceChildren();
  if (mine.place < 0) return;
  const shape = shapePath(unstepAll(study.districts.shapes[mine.place]));
  group.append(svg("path", { d: `M${-x} ${-y}H${2 * x}V${2 * y}H${-x}Z${shape}` }));
}
