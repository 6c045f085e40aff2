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
