import { tissueOfPage } from "#tissue/tissue.js";
import { lookingKeys, onKeys, onWords } from "#viewing/keys.js";

/**
 * Words and keys of a sitting's page, and what each does.
 *
 * @param {import("#sittings/sitting.js").BoardSitting} page
 * @param {AbortSignal} signal
 */
export function onWhatIsPressed(page, signal) {
  const standing = () => page.table?.stand ?? null;
  const alone = () => {
    if (!page.isChair && page.follows) page.follow(false);
  };
  const looking = Object.fromEntries(
    Object.entries(lookingKeys(standing)).map(([key, act]) => [
      key,
      () => {
        alone();
        act();
      },
    ]),
  );

  const step = (/** @type {number} */ by) => {
    const items = [...page.querySelectorAll("[data-show]")].map(
      (one) => one.getAttribute("data-show") ?? "",
    );
    const next = items[items.indexOf(page.item) + by];
    if (next) page.choose(next);
  };
  const tip = () => {
    page.tips.on = !page.tips.on;
    page.draw();
  };
  const tissue = () => {
    const lies = tissueOfPage()?.lift() ?? true;
    page
      .querySelector("[data-lift-tissue]")
      ?.setAttribute("aria-pressed", String(!lies));
  };

  onWords(page, standing, signal);
  onKeys(
    page,
    "[data-keys]",
    {
      ...looking,
      t: tissue,
      i: tip,
      n: () => step(1),
      b: () => step(-1),
      f: () => page.follow(!page.follows),
      Enter: () => page.table?.lift(),
    },
    signal,
  );

  /** @type {Record<string, (value: string, event: MouseEvent) => void>} */
  const pressed = {
    show: (item, event) => {
      if (event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      page.choose(item);
    },
    view: (view) => page.table?.choose({ view }),
    look: alone,
    lift: () => page.table?.lift(),
    tip,
    "lift-tissue": tissue,
    apart: () => page.follow(false),
    back: () => page.follow(true),
    "page-turn": (by) => page.moved({ page: page.aloud.page + Number(by) }),
    "put-away": () => page.querySelector("[data-notice]")?.classList.remove("is-up"),
  };
  page.addEventListener(
    "click",
    (event) => {
      const target = /** @type {Element} */ (event.target);
      for (const [name, act] of Object.entries(pressed)) {
        const found = target.closest(`a[data-${name}], button[data-${name}]`);
        if (found) act(found.getAttribute(`data-${name}`) ?? "", event);
      }
    },
    { signal },
  );
}
