// What a page shows, measured in the browser: contrast of words and edges, sizes of targets, names.
"use strict";

return (() => {
  const parse = (text) => {
    const [r, g, b, a = 1] = text.match(/[\d.]+/g).map(Number);
    return { r, g, b, a };
  };
  // WCAG 2.2, "relative luminance" and "contrast ratio".
  const channel = (value) => {
    const share = value / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  };
  const luminance = ({ r, g, b }) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const contrast = (one, other) => {
    const [light, dark] = [luminance(one), luminance(other)].sort((x, y) => y - x);
    return (light + 0.05) / (dark + 0.05);
  };
  const behind = (element) => {
    for (let one = element; one; one = one.parentElement) {
      const colour = parse(getComputedStyle(one).backgroundColor);
      if (colour.a === 1) return colour;
      if (colour.a !== 0) throw new Error(`a colour that shines through: ${one.outerHTML.slice(0, 80)}`);
    }
    return parse("255, 255, 255");
  };
  const visible = (element) => {
    const box = element.getBoundingClientRect();
    const style = getComputedStyle(element);
    return box.width > 1 && box.height > 1 && style.visibility !== "hidden" && style.clipPath === "none";
  };
  const said = (element) => (element.innerText || element.value || element.name || element.tagName).trim().slice(0, 40);

  const words = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || !visible(element)) continue;
    if (["OPTION", "SCRIPT"].includes(element.tagName)) continue;
    const style = getComputedStyle(element);
    const size = parseFloat(style.fontSize);
    const large = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
    words.push({
      said: walker.currentNode.data.trim().slice(0, 40),
      ratio: contrast(parse(style.color), behind(element)),
      needed: large ? 3 : 4.5,
      size,
    });
  }

  const edges = [];
  const targets = [];
  const nameless = [];
  for (const element of document.querySelectorAll("a, button, input:not([type=hidden]), select, summary")) {
    if (!visible(element)) continue;
    const label = element.labels?.[0];
    const box = (element.type === "checkbox" ? label : element).getBoundingClientRect();
    targets.push({ said: said(element), width: box.width, height: box.height });
    const name = element.innerText || element.getAttribute("aria-label") || label?.innerText || "";
    if (!name.trim()) nameless.push(element.outerHTML.slice(0, 120));
    const style = getComputedStyle(element);
    if (["INPUT", "SELECT", "BUTTON"].includes(element.tagName) && element.type !== "checkbox") {
      const outside = behind(element.parentElement);
      const edge = Math.max(
        contrast(parse(style.borderTopColor), outside),
        contrast(parse(style.backgroundColor), outside),
      );
      edges.push({ said: said(element), ratio: edge });
    }
  }

  const heads = [...document.querySelectorAll("h1, h2, h3")].map((one) => Number(one.tagName[1]));
  const ids = [...document.querySelectorAll("[id]")].map((one) => one.id);
  return {
    words, edges, targets, nameless, heads,
    twice: ids.filter((one, at) => ids.indexOf(one) !== at),
    width: document.documentElement.scrollWidth,
    screen: innerWidth,
    fetched: performance.getEntriesByType("resource").map((one) => one.name),
  };
})();
