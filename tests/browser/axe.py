"""Hold a page to WCAG 2.2 AA as far as axe-core 4.14 can tell."""

from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from tests.browser.looked_at import explained

AXE = Path(__file__).resolve().parents[2] / "node_modules" / "axe-core" / "axe.min.js"
ALL = "['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']"
CONTRAST = "{type: 'rule', values: ['color-contrast']}"
RUN = """() => {
  globalThis.moved = false;
  const eye = new MutationObserver(() => { globalThis.moved = true; });
  eye.observe(document.body, {childList: true, subtree: true});
  return axe.run({runOnly: %s, resultTypes: ['violations', 'incomplete']}).then(found =>
    ['violations', 'incomplete'].flatMap(kind => found[kind].flatMap(one =>
      one.nodes.map(node => ({kind, rule: one.id, html: node.html.slice(0, 300),
        where: node.target.join(' '), why: node.any.concat(node.all, node.none).map(
          check => (check.data && check.data.messageKey) || check.message).join('; ')})))
  )).finally(() => eye.disconnect());
}"""
MOVING = 4
# axe takes a picture to lie under the words beside it though its frame cuts it off, and
# leaves open what a scrolled table hides: both are undone while contrast is measured.
UNCUT = """
globalThis.cut = [];
const set = (one, name, value) => {
  cut.push([one, name, one.style[name]]);
  one.style[name] = value;
};
for (const one of document.querySelectorAll('foreignObject, svg image'))
  set(one, 'display', 'none');
for (const one of document.querySelectorAll('main *'))
  if (/auto|scroll/.test(getComputedStyle(one).overflowX)) {
    set(one, 'overflow', 'visible');
    for (let up = one; up.localName !== 'body'; up = up.parentElement)
      set(up, 'minWidth', 'max-content');
  }
"""
CUT = "for (const [one, name, value] of cut) one.style[name] = value"


def left_open(page: Page) -> list[dict[str, Any]]:
    """What is wrong with a page, or undecided and never looked at by eye."""
    if not page.evaluate("'axe' in globalThis"):
        page.evaluate(AXE.read_text())
    found = _run(page, ALL)
    if undecided := {one["where"] for one in found if _is_open_contrast(one)}:
        page.evaluate(UNCUT)
        again = _run(page, CONTRAST)
        page.evaluate(CUT)
        found = [one for one in found if not _is_open_contrast(one)]
        found += [one for one in again if one["where"] in undecided]
    return [one for one in found if not explained(one)]


def _run(page: Page, rules: str) -> list[dict[str, Any]]:
    """Run axe on the page at rest: what is exchanged while it looks it cannot tell."""
    for _ in range(MOVING):
        found: list[dict[str, Any]] = page.evaluate(RUN % rules)
        if not page.evaluate("globalThis.moved"):
            break
    return found


def _is_open_contrast(one: dict[str, Any]) -> bool:
    return bool(one["kind"] == "incomplete" and one["rule"] == "color-contrast")
