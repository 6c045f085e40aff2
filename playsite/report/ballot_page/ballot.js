// An answer as the rows of one CSV: the ballot first, then each comment. Nothing is sent.

const numbers = JSON.parse(document.getElementById("numbers").textContent);
const own = Array.from(crypto.getRandomValues(new Uint8Array(6)), (byte) => byte.toString(16).padStart(2, "0")).join("");
const byId = (id) => document.getElementById(id);
const words = JSON.parse(byId("words").textContent);
const say = (text, ...parts) => (words[text] || text).replace(/\{(\d)\}/g, (hole, i) => parts[i]);

// A cell that a spreadsheet would take for a formula is kept from it by an apostrophe.
function cell(text) {
  const plain = text.replace(/\s+/g, " ").trim(), safe = /^[=+\-@]/.test(plain) ? "'" + plain : plain;
  return /[",;]/.test(safe) ? '"' + safe.replaceAll('"', '""') + '"' : safe;
}

function ballotRow() {
  const approves = [...document.querySelectorAll("[data-approves]:checked")].map((box) => "Site " + box.dataset.approves).join("; ");
  const order = numbers.map(() => "");
  for (const list of document.querySelectorAll("[data-choice]")) if (list.value) order[list.value - 1] = "Site " + list.dataset.choice;
  return { approves, order: order.filter(Boolean) };
}

function comments() {
  return [...document.querySelectorAll(".comment")].map((box) => ["[data-site]", "[data-topic]", "[data-comment]"].map((part) => box.querySelector(part).value))
    .filter(([, , text]) => text.trim());
}

// Says what is amiss, or nothing.
function fault() {
  const chosen = [...document.querySelectorAll("[data-choice]")].map((list) => list.value).filter(Boolean);
  const twice = chosen.find((value, i) => chosen.indexOf(value) !== i);
  if (twice) return say("Two sites are your choice {0}. Give each number once.", twice);
  const { approves, order } = ballotRow();
  if (!approves && !order.length && !comments().length) return say("Nothing is ticked, chosen or said yet.");
  return "";
}

function answer() {
  const { approves, order } = ballotRow(), choices = numbers.map((_, i) => order[i] || "");
  const head = ["ballot_id", "place", "age_group", "approves", ...numbers.map((_, i) => "choice_" + (i + 1)), "parcel_id", "criterion", "comment"];
  const rows = [[own, byId("place").value, byId("age").value, approves, ...choices, "", "", ""]];
  for (const [site, topic, text] of comments()) rows.push([own, "", "", "", ...numbers.map(() => ""), "Site " + site, topic, text]);
  return [head, ...rows].map((row) => row.map(cell).join(",") + "\r\n").join("");
}

function give(how) {
  const wrong = fault();
  byId("fault").textContent = wrong;
  byId("told").textContent = "";
  byId("text").hidden = true;
  if (!wrong) how(answer());
}

function save(text) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob(["\ufeff" + text], { type: "text/csv" }));
  link.download = `answer-${own}.csv`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  byId("told").textContent = say("Saved as {0}. Give that file to the town; the same answer given twice counts once.", link.download);
}

function show(text) {
  byId("text").hidden = false;
  byId("text").value = text;
  byId("text").focus();
  byId("text").select();
  byId("told").textContent = say("Copy all of this text and send it to the town.");
}

byId("ballot").addEventListener("submit", (event) => event.preventDefault());
byId("save").addEventListener("click", () => give(save));
byId("show").addEventListener("click", () => give(show));
byId("more").addEventListener("click", () => {
  const first = document.querySelector(".comment"), next = first.cloneNode(true);
  next.querySelector("textarea").value = "";
  byId("comments").append(next);
  next.querySelector("select").focus();
});
