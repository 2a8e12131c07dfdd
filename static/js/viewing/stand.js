import {
  bledSheet,
  clampTo,
  ratioOf,
  rectToView,
  toSheet,
  toView,
} from "#lib/sheet.js";
import { keepStylesOut, library, tileSource } from "#viewing/tile_source.js";

/**
 * @typedef {import("#lib/sheet.js").Point} Point
 * @typedef {import("#lib/sheet.js").Rect} Rect
 * @typedef {import("#lib/sheet.js").Format} Format
 * @typedef {import("#viewing/tile_source.js").Picture} Picture
 * @typedef {import("openseadragon").TiledImage} Laid
 * @typedef {{ press(at: Point): void, drag(at: Point): void, release(at: Point): void,
 *   click(at: Point): void, key(event: KeyboardEvent): boolean }} Hand
 */

const STEP = 1.35;
const PAN = 0.08;

/** Laid pictures on a neutral surround, each at its place on the sheet, at any zoom. */
export class Stand {
  /**
   * @param {HTMLElement} element
   * @param {Format} format
   */
  constructor(element, format) {
    this.format = format;
    this.ratio = ratioOf(format);
    keepStylesOut();
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.viewer = library()({
      element,
      drawer: "canvas",
      showNavigationControl: false,
      showNavigator: false,
      silenceMultiImageWarnings: true,
      animationTime: calm ? 0 : 0.35,
      visibilityRatio: 0.2,
      minZoomImageRatio: 0.4,
      maxZoomPixelRatio: 6,
      minPixelRatio: 0.8, // a size is stretched a little before the next is fetched
      immediateRender: true, // and none between it and the still
      imageLoaderLimit: 6,
      tileRetryMax: 1,
      tileRetryDelay: 1500,
      gestureSettingsMouse: { clickToZoom: false, dblClickToZoom: false },
      gestureSettingsTouch: { clickToZoom: false, dblClickToZoom: false },
      gestureSettingsPen: { clickToZoom: false, dblClickToZoom: false },
    });
    this.canvas = /** @type {HTMLElement} */ (this.viewer.canvas);
    /** @type {Hand | null} a tool that takes over pointer and keys */
    this.hand = null;
    this.#listen();
  }

  /** @param {string} name @param {string} how what the keys do, in words */
  call(name, how) {
    this.canvas.setAttribute("role", "application");
    this.canvas.setAttribute("aria-label", name);
    this.canvas.setAttribute("aria-describedby", how);
  }

  /** @param {Picture} picture @param {number} [opacity] @returns {Promise<Laid>} */
  lay(picture, opacity = 1) {
    const { x, y, width } = rectToView(picture.rect, this.ratio);
    const { Rect } = library();
    const clip = this.bledPixels(picture);
    return new Promise((resolve, reject) => {
      this.viewer.addTiledImage({
        tileSource: tileSource(picture),
        x,
        y,
        width,
        opacity,
        clip: new Rect(clip.x, clip.y, clip.width, clip.height),
        success: (event) => {
          // Without a redraw the first picture may stay undrawn until a pan.
          this.viewer.forceRedraw();
          resolve(/** @type {{ item: Laid }} */ (/** @type {unknown} */ (event)).item);
        },
        error: () => reject(new Error("The picture could not be opened.")),
      });
    });
  }

  /** The bled sheet in a picture's own pixels. @param {Picture} picture @returns {Rect} */
  bledPixels({ rect, width, height }) {
    const bled = bledSheet(this.format);
    return {
      x: ((bled.x - rect.x) / rect.width) * width,
      y: ((bled.y - rect.y) / rect.height) * height,
      width: (bled.width / rect.width) * width,
      height: (bled.height / rect.height) * height,
    };
  }

  get viewport() {
    return this.viewer.viewport;
  }

  /** @param {Point} point on the sheet @returns {Point} pixels in the stand */
  toScreen(point) {
    const { Point } = library();
    const view = toView(point, this.ratio);
    return this.viewport.pixelFromPoint(new Point(view.x, view.y), true);
  }

  /** @param {Point} pixel in the stand @returns {Point} on the sheet */
  toSheet(pixel) {
    const { Point } = library();
    const view = this.viewport.pointFromPixel(new Point(pixel.x, pixel.y), true);
    return toSheet(view, this.ratio);
  }

  /** How many pixels of the screen one millimetre of the sheet takes. */
  get pixelsPerMm() {
    const left = this.toScreen({ x: 0, y: 0 });
    return (this.toScreen({ x: 1, y: 0 }).x - left.x) / this.format.widthMm;
  }

  /** @param {() => void} listener told whenever the view moves */
  onView(listener) {
    this.viewer.addHandler("update-viewport", listener);
    this.viewer.addHandler("resize", listener);
  }

  closer() {
    this.viewport.zoomBy(STEP);
    this.viewport.applyConstraints();
  }

  further() {
    this.viewport.zoomBy(1 / STEP);
    this.viewport.applyConstraints();
  }

  /** @param {boolean} [atOnce] */
  wholeSheet(atOnce = false) {
    const sheet = bledSheet(this.format);
    const air = 0.012;
    const rect = {
      x: sheet.x - air,
      y: sheet.y - air,
      width: sheet.width + 2 * air,
      height: sheet.height + 2 * air,
    };
    this.fit(rect, atOnce);
  }

  /** The page under the middle of the view fills the width. */
  pageWidth() {
    const width = this.format.double ? 0.5 : 1;
    const middle = this.middle();
    const x = this.format.double && middle.x > 0.5 ? 0.5 : 0;
    const shown = this.viewport.getBounds();
    const height = (width * shown.height) / shown.width / this.ratio;
    this.fit({ x, y: middle.y - height / 2, width, height });
  }

  /** One pixel of the laid picture for one of the screen. */
  actualPixels() {
    const laid = this.viewer.world.getItemAt(0);
    if (!laid) return;
    const zoom = laid.imageToViewportZoom(1 / globalThis.devicePixelRatio);
    this.viewport.zoomTo(zoom, undefined, true); // at once: no tiles on the way
    this.viewport.applyConstraints();
  }

  /** So many pixels of the screen for a millimetre of the sheet. @param {number} pixelsPerMm */
  scaleTo(pixelsPerMm) {
    const zoom = this.viewport.getZoom(true) * (pixelsPerMm / this.pixelsPerMm);
    this.viewport.zoomTo(zoom, undefined, true); // at once: no tiles on the way
    this.viewport.applyConstraints();
  }

  /** @returns {Point} the sheet's point in the middle of the view */
  middle() {
    return toSheet(this.viewport.getCenter(true), this.ratio);
  }

  /** The part of the bled sheet that is in view. @returns {Rect} */
  seen() {
    const sheet = bledSheet(this.format);
    const { clientWidth, clientHeight } = this.viewer.container;
    const head = clampTo(this.toSheet({ x: 0, y: 0 }), sheet);
    const foot = clampTo(this.toSheet({ x: clientWidth, y: clientHeight }), sheet);
    return { x: head.x, y: head.y, width: foot.x - head.x, height: foot.y - head.y };
  }

  /** @param {Rect} rect on the sheet @param {boolean} [atOnce] */
  fit(rect, atOnce = false) {
    const { Rect } = library();
    const view = rectToView(rect, this.ratio);
    this.viewport.fitBounds(new Rect(view.x, view.y, view.width, view.height), atOnce);
  }

  /** Bring a mark into view with air round it, without going closer than it needs. @param {Rect} rect */
  show(rect) {
    const air = Math.max(0.12, rect.width * 0.6, rect.height * 0.6);
    this.fit({
      x: rect.x - air,
      y: rect.y - air,
      width: rect.width + 2 * air,
      height: rect.height + 2 * air,
    });
  }

  /** @param {number} right @param {number} down in steps */
  pan(right, down) {
    const { Point } = library();
    const shown = this.viewport.getBounds();
    this.viewport.panBy(
      new Point(right * shown.width * PAN, down * shown.height * PAN),
    );
    this.viewport.applyConstraints();
  }

  #listen() {
    const viewer = this.viewer;
    viewer.addHandler("canvas-key", (event) => {
      // Keys are the page's own; see keys.js.
      event.preventDefaultAction = true;
    });
    viewer.addHandler("canvas-scroll", (event) => {
      // The page scrolls under the pointer until the picture has been chosen.
      const held = this.canvas.contains(document.activeElement);
      const { ctrlKey } = /** @type {WheelEvent} */ (event.originalEvent);
      if (held || ctrlKey) return;
      event.preventDefaultAction = true;
      event.preventDefault = false;
    });
    viewer.addHandler("canvas-press", (event) => {
      this.canvas.focus({ preventScroll: true });
      this.hand?.press(event.position);
    });
    viewer.addHandler("canvas-drag", (event) => {
      if (!this.hand) return;
      event.preventDefaultAction = true;
      this.hand.drag(event.position);
    });
    viewer.addHandler("canvas-release", (event) => this.hand?.release(event.position));
    viewer.addHandler("canvas-click", (event) => {
      if (event.quick) this.hand?.click(event.position);
    });
  }
}
