// One canvas with an x axis that is panned and zoomed: by pointer, wheel, two fingers and keyboard. It
// draws in step with the screen and only when something changed; what it draws is handed in.
import { extremes, held, panned, type Stretch, span, zoomed } from "../../lib/plot";
import { type Drawing, type Pen, paintAxes, paintLine } from "./paint";

export interface Events {
  /** The view moved; called once a frame at most. */
  moved?: (view: Stretch) => void;
  /** It has been at rest for a moment: time to fetch more. */
  rested?: (view: Stretch) => void;
  /** Where the pointer is, in values; null when it left. */
  pointed?: (at: { x: number; y: number } | null) => void;
  tapped?: (at: { x: number; y: number }) => void;
}

export const margin = { left: 84, right: 14, top: 10, bottom: 34 };
const rootFoot = 0.07; // share of the height below the lowest point, when heights go by their root

export class Surface {
  view: Stretch;
  private limits: Stretch;
  private least: number;
  private drawing: Drawing | null = null;
  private frame = 0;
  private resting = 0;
  private cursor: number | null = null;
  private fingers = new Map<number, { x: number; y: number }>();
  private start: { x: number; apart: number; view: Stretch; moved: boolean } | null = null;
  /** Share of the fitted height that is seen: small peaks are looked at so. */
  private share = 1;
  private yRange: [number, number] = [0, 1];
  private size = { width: 0, height: 0 };
  private readonly watch: ResizeObserver;
  /** Pixels left free below the axis, for handles. */
  foot = 0;

  constructor(
    private readonly canvas: HTMLCanvasElement,
    private readonly events: Events,
    limits: Stretch,
    least: number,
  ) {
    this.limits = limits;
    this.least = least;
    this.view = limits;
    this.measure();
    this.watch = new ResizeObserver(() => {
      this.measure();
      this.redraw();
    });
    this.watch.observe(canvas);
    canvas.addEventListener("pointerdown", this.down);
    canvas.addEventListener("pointermove", this.move);
    canvas.addEventListener("pointerup", this.up);
    canvas.addEventListener("pointercancel", this.up);
    canvas.addEventListener("pointerleave", this.leave);
    canvas.addEventListener("wheel", this.wheel, { passive: false });
    canvas.addEventListener("dblclick", () => this.show(this.limits));
    document.fonts?.ready.then(() => this.redraw());
  }

  destroy(): void {
    this.watch.disconnect();
    cancelAnimationFrame(this.frame);
    clearTimeout(this.resting);
    for (const [name, ear] of [
      ["pointerdown", this.down],
      ["pointermove", this.move],
      ["pointerup", this.up],
      ["pointercancel", this.up],
      ["pointerleave", this.leave],
    ] as const)
      this.canvas.removeEventListener(name, ear);
    this.canvas.removeEventListener("wheel", this.wheel);
  }

  set(drawing: Drawing): void {
    this.drawing = drawing;
    this.redraw();
  }

  bound(limits: Stretch, least: number): void {
    this.limits = limits;
    this.least = least;
    this.show(held(this.view, limits, least));
  }

  show(view: Stretch): void {
    this.view = held(view, this.limits, this.least);
    this.changed();
  }

  scaleHeight(share: number): void {
    this.share = Math.min(1, Math.max(1e-5, share));
    this.redraw();
  }

  /** What a key does; false for a key that means nothing here. */
  key(name: string): boolean {
    const width = span(this.view);
    const middle = (this.view.from + this.view.to) / 2;
    const zoom = (factor: number) => this.show(zoomed(this.view, middle, factor, this.limits, this.least));
    switch (name) {
      case "ArrowLeft":
        this.show(panned(this.view, -0.1 * width, this.limits));
        return true;
      case "ArrowRight":
        this.show(panned(this.view, 0.1 * width, this.limits));
        return true;
      case "PageUp":
        this.show(panned(this.view, -0.9 * width, this.limits));
        return true;
      case "PageDown":
        this.show(panned(this.view, 0.9 * width, this.limits));
        return true;
      case "+":
      case "=":
        zoom(0.5);
        return true;
      case "-":
        zoom(2);
        return true;
      case "ArrowUp":
        this.scaleHeight(this.share / 2);
        return true;
      case "ArrowDown":
        this.scaleHeight(this.share * 2);
        return true;
      case "Home":
      case "0":
        this.share = 1;
        this.show(this.limits);
        return true;
      default:
        return false;
    }
  }

  /** Pixels of the canvas to values, and back. */
  valueX(px: number): number {
    const { left, right } = this.box();
    return this.view.from + ((px - left) / (right - left)) * span(this.view);
  }
  valueY(px: number): number {
    const { top, bottom } = this.box();
    const share = (bottom - px) / (bottom - top);
    const [low, high] = this.yRange;
    if (!this.drawing?.root) return low + share * (high - low);
    const root = (share - rootFoot) / (1 - rootFoot);
    return low + root * Math.abs(root) * (high - low);
  }
  pixelX = (value: number): number => {
    const { left, right } = this.box();
    return left + ((value - this.view.from) / span(this.view)) * (right - left);
  };
  pixelY = (value: number): number => {
    const { top, bottom } = this.box();
    const [low, high] = this.yRange;
    const share = (value - low) / (high - low);
    if (!this.drawing?.root) return bottom - share * (bottom - top);
    const root = Math.sign(share) * Math.sqrt(Math.abs(share));
    return bottom - (rootFoot + (1 - rootFoot) * root) * (bottom - top);
  };

  // Asked once a change of size: asking for every point would make the browser lay the page out anew.
  private measure(): void {
    this.size = { width: this.canvas.clientWidth, height: this.canvas.clientHeight };
  }

  redraw = (): void => {
    if (this.frame === 0)
      this.frame = requestAnimationFrame(() => {
        this.frame = 0;
        this.draw();
      });
  };

  private box() {
    return {
      left: margin.left,
      top: margin.top,
      right: Math.max(margin.left + 1, this.size.width - margin.right),
      bottom: Math.max(margin.top + 1, this.size.height - margin.bottom - this.foot),
    };
  }

  private changed(): void {
    this.redraw();
    clearTimeout(this.resting);
    this.resting = window.setTimeout(() => this.events.rested?.(this.view), 90);
  }

  private local(event: PointerEvent | WheelEvent) {
    const box = this.canvas.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  }

  private down = (event: PointerEvent): void => {
    this.canvas.setPointerCapture(event.pointerId);
    this.fingers.set(event.pointerId, this.local(event));
    this.begin();
  };

  private begin(): void {
    const at = [...this.fingers.values()];
    if (at.length === 0) {
      this.start = null;
      return;
    }
    const x = at.reduce((sum, p) => sum + p.x, 0) / at.length;
    this.start = { x, apart: this.apart(), view: this.view, moved: this.start?.moved ?? false };
  }

  // How far two fingers are apart; 0 for one.
  private apart(): number {
    const [a, b] = [...this.fingers.values()];
    return a && b ? Math.max(20, Math.abs(a.x - b.x)) : 0;
  }

  private move = (event: PointerEvent): void => {
    const at = this.local(event);
    if (!this.fingers.has(event.pointerId)) {
      this.point(at);
      return;
    }
    this.fingers.set(event.pointerId, at);
    const start = this.start;
    if (!start) return;
    const { left, right } = this.box();
    const all = [...this.fingers.values()];
    const x = all.reduce((sum, p) => sum + p.x, 0) / all.length;
    if (Math.abs(x - start.x) > 4 || all.length > 1) start.moved = true;
    const factor = start.apart > 0 ? start.apart / this.apart() : 1;
    const at0 = start.view.from + ((start.x - left) / (right - left)) * span(start.view);
    const wide = zoomed(start.view, at0, factor, this.limits, this.least);
    this.view = panned(wide, (-(x - start.x) / (right - left)) * span(wide), this.limits);
    this.changed();
  };

  private up = (event: PointerEvent): void => {
    const at = this.local(event);
    if (!this.fingers.delete(event.pointerId)) return;
    if (this.fingers.size === 0 && this.start && !this.start.moved) {
      this.point(at);
      this.events.tapped?.({ x: this.valueX(at.x), y: this.valueY(at.y) });
    }
    if (this.fingers.size === 0) this.start = null;
    this.begin();
  };

  private leave = (): void => {
    if (this.fingers.size > 0) return;
    this.cursor = null;
    this.events.pointed?.(null);
    this.redraw();
  };

  private wheel = (event: WheelEvent): void => {
    event.preventDefault();
    const at = this.local(event);
    if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      const { left, right } = this.box();
      this.view = panned(this.view, (event.deltaX / (right - left)) * span(this.view), this.limits);
    } else {
      const factor = Math.exp(Math.min(0.6, Math.max(-0.6, event.deltaY * 0.002)));
      this.view = zoomed(this.view, this.valueX(at.x), factor, this.limits, this.least);
    }
    this.changed();
  };

  private point(at: { x: number; y: number }): void {
    const { left, right } = this.box();
    this.cursor = at.x >= left && at.x <= right ? this.valueX(at.x) : null;
    this.events.pointed?.(this.cursor === null ? null : { x: this.cursor, y: this.valueY(at.y) });
    this.redraw();
  }

  private colour = (() => {
    let style: CSSStyleDeclaration | null = null;
    return (name: string): string => {
      style ??= getComputedStyle(document.documentElement);
      return style.getPropertyValue(`--${name}`).trim();
    };
  })();

  // The range of y: what is seen of every line, with room above for names.
  private fit(drawing: Drawing): void {
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (const line of drawing.lines) {
      if (line.aside) continue;
      const found = extremes(line.t, line.y, this.view);
      if (!found) continue;
      low = Math.min(low, found[0]);
      high = Math.max(high, found[1]);
    }
    if (!(low <= high)) [low, high] = [0, 1];
    const room = (high - low || Math.abs(high) || 1) * this.share;
    const { root, ground } = drawing;
    if (root || ground === undefined || !(ground > low && ground < high)) {
      this.yRange = root ? [low, low + 1.2 * room] : [low - 0.06 * room, low + 1.16 * room];
      return;
    }
    // A valve's kick far below the baseline must not push the small peaks out of sight.
    const above = (high - ground) * this.share;
    this.yRange = [Math.max(low - 0.06 * room, ground - 0.4 * above), ground + 1.24 * above];
  }

  private draw(): void {
    const drawing = this.drawing;
    const { width, height } = this.size;
    const ctx = this.canvas.getContext("2d");
    if (!drawing || !ctx || width === 0 || height === 0) return;
    const dpr = window.devicePixelRatio || 1;
    if (this.canvas.width !== Math.round(width * dpr) || this.canvas.height !== Math.round(height * dpr)) {
      this.canvas.width = Math.round(width * dpr);
      this.canvas.height = Math.round(height * dpr);
    }
    this.fit(drawing);
    ctx.setTransform(dpr, 0, 0, dpr, 0, 0);
    ctx.clearRect(0, 0, width, height);
    const box = this.box();
    const pen: Pen = { ctx, x: this.pixelX, y: this.pixelY, box, colour: this.colour, view: this.view };
    paintAxes(pen, drawing, this.yRange, width);
    ctx.save();
    ctx.beginPath();
    ctx.rect(box.left, 0, box.right - box.left, box.bottom + 1);
    ctx.clip();
    drawing.under?.(pen);
    for (const line of drawing.lines) paintLine(pen, line, drawing.root === true);
    if (this.cursor !== null) {
      ctx.strokeStyle = this.colour("soft");
      ctx.lineWidth = 1;
      ctx.setLineDash([3, 3]);
      ctx.beginPath();
      const x = Math.round(this.pixelX(this.cursor)) + 0.5;
      ctx.moveTo(x, box.top);
      ctx.lineTo(x, box.bottom);
      ctx.stroke();
      ctx.setLineDash([]);
    }
    drawing.over?.(pen);
    ctx.restore();
    this.events.moved?.(this.view);
  }
}
