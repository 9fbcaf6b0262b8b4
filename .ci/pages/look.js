// Returns what a reader would stumble over in the page as it is shown now, a sentence each.
(() => {
  const found = [];
  const root = document.documentElement;
  const shown = e => { const r = e.getBoundingClientRect(); return r.width > 0 && r.height > 0 && e.checkVisibility({ visibilityProperty: true }); };
  const brief = s => JSON.stringify(s.trim().replace(/\s+/g, " ").slice(0, 60));

  // Nothing has to be scrolled sideways, but tables in a frame of their own.
  if (root.scrollWidth > root.clientWidth) {
    found.push(`the page is ${root.scrollWidth} px wide on a screen of ${root.clientWidth} px`);
    for (const e of document.body.querySelectorAll("*")) {
      if (e.getBoundingClientRect().right > root.clientWidth + 1 && !e.closest(".scroll")) { found.push(`${e.tagName} ${brief(e.textContent)} goes beyond its edge`); break; }
    }
  }

  // Contrast as WCAG 2.1 has it, in sRGB.
  const colour = text => { const n = text.match(/[\d.]+/g); return n && n.length >= 3 ? n.map(Number) : null; };
  const luminance = c => { const [r, g, b] = c.slice(0, 3).map(x => x / 255).map(x => x <= 0.03928 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const contrast = (a, b) => { const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
  const opaque = c => c && (c.length < 4 || c[3] > 0.99);
  const paper = e => { for (let p = e; p; p = p.parentElement) { const c = colour(getComputedStyle(p).backgroundColor); if (opaque(c)) return c; } return [255, 255, 255]; };
  const meets = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
  const readable = (c, on, words) => { const x = contrast(c, on); if (!(x >= 4.5)) found.push(`the contrast of ${brief(words)}, ${c} on ${on}, is ${x.toFixed(2)}, and 4.5 are needed`); };
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let texts = 0;
  for (let n = walk.nextNode(); n; n = walk.nextNode()) {
    const e = n.parentElement;
    if (!n.data.trim() || e.closest("svg") || !shown(e)) continue;
    texts++;
    readable(colour(getComputedStyle(e).color), paper(e), n.data);
  }
  if (texts < 20) found.push(`there are but ${texts} texts`);

  // Pictures: what is written in them is whole, does not lie on other words, and can be told from what is painted below it.
  for (const svg of document.querySelectorAll("svg")) {
    if (svg.closest("details:not([open])")) continue; // it is folded
    if (!shown(svg)) { found.push("a picture is not shown"); continue; }
    const frame = svg.getBoundingClientRect(), about = brief(svg.getAttribute("aria-label") || "");
    const below = [], words = [];
    for (const e of svg.querySelectorAll("path, text")) {
      const style = getComputedStyle(e), b = e.getBoundingClientRect();
      if (e.tagName === "path") {
        const c = colour(style.fill);
        if (style.fill !== "none" && opaque(c)) below.push({ c, b });
        continue;
      }
      const c = colour(style.fill);
      readable(c, paper(svg), e.textContent);
      // What is filled but no rectangle may lie elsewhere than its frame; bars and bands are rectangles.
      for (const p of below) if (meets(p.b, b)) readable(c, p.c, e.textContent);
      // Letters fill less than their line.
      words.push({ text: e.textContent, b: { left: b.left + 0.5, right: b.right - 0.5, top: b.top + 0.18 * b.height, bottom: b.bottom - 0.18 * b.height } });
      if (b.left < frame.left - 1 || b.right > frame.right + 1 || b.top < frame.top - 1 || b.bottom > frame.bottom + 1) found.push(`${about}: ${brief(e.textContent)} goes beyond the picture`);
    }
    words.forEach((w, i) => words.slice(i + 1).forEach(v => { if (meets(w.b, v.b)) found.push(`${about}: ${brief(w.text)} and ${brief(v.text)} lie on each other`); }));
  }

  // What is seen is told to those who do not see it.
  for (const e of document.querySelectorAll("img, svg, canvas, object")) {
    if (!(e.getAttribute("alt") || e.getAttribute("aria-label")) || e.tagName === "svg" && e.getAttribute("role") !== "img") found.push(`a picture has no text that stands for it: ${e.outerHTML.slice(0, 80)}`);
  }
  const outcome = document.querySelector("h1"), box = outcome.getBoundingClientRect(), wrong = document.querySelector(".wrong");
  return {
    found: [...new Set(found)], title: document.title, outcome: outcome.textContent, letters: parseFloat(getComputedStyle(outcome).fontSize),
    outcomeEnds: Math.max(...[...outcome.childNodes].map(n => { const r = document.createRange(); r.selectNodeContents(n); return r.getBoundingClientRect().right; })),
    top: box.top, wrongTop: wrong ? wrong.getBoundingClientRect().top : -1, wrongWide: wrong ? wrong.getBoundingClientRect().width : 0,
    width: root.clientWidth, body: document.body.getBoundingClientRect().width, text: document.body.innerText, tallest: Math.max(0, ...[...document.querySelectorAll("figure, tr, pre")].filter(shown).map(e => e.getBoundingClientRect().height)),
    high: root.scrollHeight, folded: document.querySelectorAll("details:not([open])").length,
  };
})()
