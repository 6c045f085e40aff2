// Making elements. Texts only ever become text nodes: a name that looks like a tag stays a name.

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value !== null && value !== undefined) node.setAttribute(name, value);
  }
  node.append(...children.flat(Infinity).filter((child) => child !== "" && child !== null && child !== undefined));
  return node;
}

function el(tag, attributes, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

function svg(tag, attributes, ...children) {
  return fill(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, children);
}

function byId(id) {
  return document.getElementById(id);
}

function sign(id, width, height, words) {
  const named = words ? { role: "img", "aria-label": words } : { "aria-hidden": "true" };
  return svg("svg", { width: width, height: height || width, ...named }, svg("use", { href: "#" + id }));
}

const tokens = new Map();

function token(name) {
  if (!tokens.has(name)) tokens.set(name, getComputedStyle(document.documentElement).getPropertyValue(name).trim());
  return tokens.get(name);
}

// Words in the language of the page: `study.words` holds them by the English ones. {0} is a hole.
function say(text, ...parts) {
  return sayNodes(text, ...parts).join("");
}

function sayNodes(text, ...parts) {
  const told = study?.words?.[text] ?? text;
  return told.split(/\{(\d)\}/).map((piece, i) => (i % 2 ? apart(parts[piece]) : piece)).filter((piece) => piece !== "");
}

// In a line that runs from right to left names and numbers stand for themselves, between two marks.
const FROM_RIGHT = document.documentElement.dir === "rtl", ISOLATES = /[\u2068\u2069]/g;

function apart(part) {
  return FROM_RIGHT && part !== "" && typeof part !== "object" ? "\u2068" + part + "\u2069" : part;
}

function number(value) {
  return String(value).replace(/\B(?=(\d{3})+$)/g, ","); // as the study's own sentences have them, in any language
}

function ordinal(value) {
  if (document.documentElement.lang !== "en") return say("{0}.", number(value));
  const ending = { 1: "st", 2: "nd", 3: "rd" }[value % 10];
  return number(value) + (!ending || (value % 100 > 10 && value % 100 < 14) ? "th" : ending);
}

function joined(items) {
  return items.length < 2 ? items.join("") : say("{0} and {1}", items.slice(0, -1).join(", "), items[items.length - 1]);
}

function capital(text) {
  return text[0].toUpperCase() + text.slice(1);
}
