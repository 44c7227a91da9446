// What can be measured on a screen as it stands: sizes of targets and of type, words that are cut off or lie on one another, contrast
// of the words and numbers that decide. Runs in the page; each entry of the answer is a fault in words.
export function measure({ doubled = false } = {}) {
  const faults = [];
  const frame = document.querySelector('.frame') ?? document.body;
  const shown = (e) => e.getClientRects().length > 0 && getComputedStyle(e).visibility !== 'hidden' && !e.closest('.hidden-words');
  const said = (e) => (e.getAttribute?.('aria-label') || e.textContent || e.id || e.tagName).trim().replace(/\s+/g, ' ').slice(0, 40);

  if (document.documentElement.scrollWidth > innerWidth) faults.push(`the page is ${document.documentElement.scrollWidth - innerWidth} px too wide`);

  for (const e of frame.querySelectorAll('button, a[href], input, select, textarea, summary')) {
    if (!shown(e) || e.hidden) continue;
    const { width, height } = e.getBoundingClientRect();
    const least = e.closest('.phone-page') ? 44 : 64;
    const main = e.matches('.go, .acts .tile') ? 72 : least;
    if (height < main - 0.5) faults.push(`target ${said(e)}: ${height.toFixed(0)} px high, at least ${main}`);
    if (width < least - 0.5) faults.push(`target ${said(e)}: ${width.toFixed(0)} px wide, at least ${least}`);
  }

  const leaves = [];
  const walker = document.createTreeWalker(frame, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    const e = node.parentElement;
    // The numbers in a drawing say again what stands beside it in words.
    if (!node.data.trim() || !shown(e) || e.closest('svg, option, details:not([open]) > :not(summary)')) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    leaves.push({ e, rects: [...range.getClientRects()].filter((r) => r.width > 0.5 && r.height > 0.5), text: node.data.trim().slice(0, 40) });
  }
  for (const e of frame.querySelectorAll('input:not([type=file]), textarea, select')) {
    if (shown(e) && !e.hidden) leaves.push({ e, rects: [], text: `field ${said(e)}` });
  }
  const least = (e) =>
    e.closest('.plate-word') ? 72
    : e.closest('.big-num, .with-unit input, .tally-plus output') ? 40
    : e.closest('.plate-line, .tile-word, .link') ? 20
    : 18;
  for (const { e, text } of leaves) {
    const px = Number.parseFloat(getComputedStyle(e).fontSize);
    if (px < least(e) - 0.05) faults.push(`type “${text}”: ${px} px, at least ${least(e)}`);
    // A verdict is as large as a word can be without breaking; everything else follows the reader.
    if (doubled && !e.closest('.plate-word') && px < 2 * least(e) - 0.1) faults.push(`type “${text}”: ${px} px although the reader doubled it`);
  }

  // Clipped: words that leave their button, their box, the window or the work that scrolls.
  for (const { e, rects, text } of leaves) {
    const box = e.closest('button, a, .plate-body, .box, .trouble, .edge')?.getBoundingClientRect();
    for (const r of rects) {
      if (r.left < -1 || r.right > innerWidth + 1) faults.push(`“${text}” leaves the window`);
      if (box && (r.left < box.left - 1.5 || r.right > box.right + 1.5)) faults.push(`“${text}” leaves its box sideways`);
      if (box && (r.top < box.top - 3 || r.bottom > box.bottom + 3)) faults.push(`“${text}” leaves its box up or down`);
    }
    for (let p = e; p && p !== frame; p = p.parentElement) {
      const s = getComputedStyle(p);
      if (s.overflowX !== 'visible' && !p.matches('input, textarea, select') && p.scrollWidth > p.clientWidth + 1) faults.push(`“${text}” is cut off by ${p.className || p.tagName}`);
    }
  }

  // Overlapping: what is scrolled out of sight is cut to the part that shows.
  const parts = [];
  for (const leaf of leaves) {
    const pane = leaf.e.closest('.work, .acts')?.getBoundingClientRect();
    for (const r of leaf.rects) {
      const top = Math.max(r.top, pane?.top ?? r.top);
      const bottom = Math.min(r.bottom, pane?.bottom ?? r.bottom);
      // The line's own box is taller than its letters; a third of it is air.
      const air = r.height / 6;
      if (bottom - top > 2 * air) parts.push({ leaf, left: r.left, right: r.right, top: top + air, bottom: bottom - air });
    }
  }
  parts.forEach((a, i) => {
    for (const b of parts.slice(i + 1)) {
      if (a.leaf === b.leaf) continue;
      const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (across > 1 && down > 1) faults.push(`“${a.leaf.text}” lies on “${b.leaf.text}”`);
    }
  });

  // Contrast of the words and numbers that decide: computed colours, 7:1.
  const lum = (css) => {
    const [r, g, b] = css.match(/[\d.]+/g).map((v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (e) => {
    for (let p = e; p; p = p.parentElement) {
      const c = getComputedStyle(p).backgroundColor;
      if (!/, 0\)$|transparent/.test(c)) return c;
    }
    return 'rgb(255, 255, 255)';
  };
  const ratios = [];
  for (const { e, text } of leaves) {
    if (!e.closest('.plate, .num, .big-num, .state-word, .big-answer, .with-unit, output, .outcome, .row-n') || e.closest(':disabled')) continue;
    const [a, b] = [lum(getComputedStyle(e).color), lum(ground(e))].sort((x, y) => y - x);
    const ratio = (a + 0.05) / (b + 0.05);
    ratios.push(ratio);
    if (ratio < 7) faults.push(`“${text}”: contrast ${ratio.toFixed(2)}, at least 7`);
  }
  return { faults: [...new Set(faults)], words: leaves.length, ratios: ratios.length };
}
