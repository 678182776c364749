import { useEffect, useRef, useState } from "preact/hooks";
import type { Stretch } from "../../lib/plot";
import { plotTexts } from "../../texts/plot";
import { useScheme } from "../useScheme";
import type { Drawing } from "./paint";
import { type Events, Surface } from "./surface";
import "./plot.css";

/** A thing on the plot that is moved by finger, mouse or arrow keys. */
export interface Handle {
  id: string;
  label: string;
  /** What is said of where it stands: "28.2 s". */
  says: string;
  x: number;
  /** None: it runs along the whole height. */
  y?: number;
  low: number;
  high: number;
  /** One press of an arrow key; ten with shift. */
  step: number;
  /** Moves up and down instead of to the side. */
  upright?: boolean;
  colour?: string;
  disabled?: boolean;
}

interface Props {
  label: string;
  height: number;
  limits: Stretch;
  /** The narrowest stretch that makes sense. */
  least: number;
  drawing: Drawing;
  events?: Events;
  handles?: Handle[];
  /** Called while it moves; `done` when it is let go. */
  onHandle?: (id: string, value: number, done: boolean) => void;
  /** Shows this stretch whenever it changes. */
  show?: Stretch | null;
  /** The share of the height that is seen, whenever it changes; the keys go on from there. */
  share?: number;
  /** Offers heights by their square root. */
  turnRoot?: (() => void) | undefined;
}

const thumb = 46; // px: a handle and the gap to the next

export function Plot({
  label,
  height,
  limits,
  least,
  drawing,
  events,
  handles,
  onHandle,
  show,
  share = 1,
  turnRoot,
}: Props) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const surface = useRef<Surface | null>(null);
  const knobs = useRef<HTMLDivElement>(null);
  const now = useRef({ events, handles });
  now.current = { events, handles };
  const scheme = useScheme();
  const posts = handles?.some((handle) => handle.y === undefined) ?? false;
  const [, setReady] = useState(false);

  // Handles follow the view without a render: they are put in place with the frame.
  const place = () => {
    const at = surface.current;
    const box = knobs.current;
    if (!at || !box) return;
    const rows: number[][] = [];
    for (const knob of box.children) {
      const handle = now.current.handles?.find((each) => each.id === (knob as HTMLElement).dataset.id);
      if (!handle) continue;
      const x = at.pixelX(handle.x);
      const y = handle.y === undefined ? null : at.pixelY(handle.y);
      const style = (knob as HTMLElement).style;
      const seen = handle.x >= at.view.from && handle.x <= at.view.to;
      style.visibility = seen ? "visible" : "hidden";
      // Posts that would cover one another stand one above the other.
      let row = 0;
      if (y === null && seen) {
        while (rows[row]?.some((other) => Math.abs(other - x) < thumb)) row += 1;
        rows[row] = [...(rows[row] ?? []), x];
      }
      const down = y === null ? -thumb * row : Math.min(height - 40, Math.max(8, y));
      style.transform = `translate(${x}px, ${down}px)`;
    }
  };

  useEffect(() => {
    const element = canvas.current;
    if (!element) return undefined;
    const made = new Surface(
      element,
      {
        moved: (view) => {
          place();
          now.current.events?.moved?.(view);
        },
        rested: (view) => now.current.events?.rested?.(view),
        pointed: (at) => now.current.events?.pointed?.(at),
        tapped: (at) => now.current.events?.tapped?.(at),
      },
      limits,
      least,
    );
    const before = surface.current;
    if (before) made.show(before.view);
    surface.current = made;
    made.foot = posts ? thumb - 6 : 0;
    made.scaleHeight(share);
    made.set(drawing);
    setReady(true);
    return () => made.destroy();
  }, [scheme]);
  useEffect(() => surface.current?.bound(limits, least), [limits.from, limits.to, least]);
  useEffect(() => {
    if (!surface.current) return;
    surface.current.foot = posts ? thumb - 6 : 0;
    surface.current.set(drawing);
  }, [drawing, handles, posts]);
  useEffect(() => surface.current?.scaleHeight(share), [share]);
  useEffect(() => {
    if (show) surface.current?.show(show);
  }, [show]);

  const drag = (handle: Handle, event: PointerEvent) => {
    if (handle.disabled || event.button !== 0) return;
    const knob = event.currentTarget as HTMLElement;
    const at = surface.current;
    const box = canvas.current?.getBoundingClientRect();
    if (!at || !box) return;
    event.preventDefault();
    knob.focus();
    knob.setPointerCapture(event.pointerId);
    // Where it was taken hold of stays under the finger.
    const shift = handle.upright
      ? at.pixelY(handle.y ?? 0) - (event.clientY - box.top)
      : at.pixelX(handle.x) - (event.clientX - box.left);
    const valueUnder = (e: PointerEvent) => {
      const raw = handle.upright
        ? at.valueY(e.clientY - box.top + shift)
        : at.valueX(e.clientX - box.left + shift);
      return Math.min(handle.high, Math.max(handle.low, raw));
    };
    let last = handle.upright ? (handle.y ?? 0) : handle.x;
    const move = (e: PointerEvent) => {
      last = valueUnder(e);
      onHandle?.(handle.id, last, false);
    };
    const end = () => {
      knob.removeEventListener("pointermove", move);
      knob.removeEventListener("pointerup", end);
      knob.removeEventListener("pointercancel", end);
      onHandle?.(handle.id, last, true);
    };
    knob.addEventListener("pointermove", move);
    knob.addEventListener("pointerup", end);
    knob.addEventListener("pointercancel", end);
  };

  const press = (handle: Handle, event: KeyboardEvent) => {
    const towards: Record<string, number> = handle.upright
      ? { ArrowUp: 1, ArrowDown: -1 }
      : { ArrowLeft: -1, ArrowRight: 1, PageUp: -10, PageDown: 10 };
    const by = towards[event.key];
    if (by === undefined || handle.disabled) return;
    event.preventDefault();
    event.stopPropagation();
    const from = handle.upright ? (handle.y ?? 0) : handle.x;
    const to = from + by * handle.step * (event.shiftKey ? 10 : 1);
    onHandle?.(handle.id, Math.min(handle.high, Math.max(handle.low, to)), true);
  };

  return (
    <div class="plot">
      <fieldset class="plot-tools">
        <legend class="unseen">{plotTexts.tools}</legend>
        {(
          [
            ["-", "\u2212", plotTexts.out],
            ["+", "+", plotTexts.into],
            ["0", plotTexts.whole, plotTexts.wholeLong],
            ["ArrowUp", "\u2195+", plotTexts.taller],
            ["ArrowDown", "\u2195\u2212", plotTexts.flatter],
          ] as const
        ).map(([key, sign, says]) => (
          <button
            key={key}
            type="button"
            aria-label={says}
            title={says}
            onClick={() => surface.current?.key(key)}
          >
            {sign}
          </button>
        ))}
        {turnRoot && (
          <button
            type="button"
            aria-pressed={drawing.root === true}
            aria-label={plotTexts.root}
            title={plotTexts.root}
            onClick={turnRoot}
          >
            {"\u221a"}
          </button>
        )}
      </fieldset>
      <div class="plot-box" style={{ height: `${height}px` }}>
        <canvas
          ref={canvas}
          class="plot-canvas"
          tabIndex={0}
          role="img"
          aria-label={`${label} ${plotTexts.keys}`}
          onKeyDown={(event) => {
            if (event.ctrlKey || event.metaKey || event.altKey) return;
            if (surface.current?.key(event.key)) event.preventDefault();
          }}
        />
        <div ref={knobs}>
          {handles?.map((handle) => (
            <div
              key={handle.id}
              data-id={handle.id}
              class={`plot-handle ${handle.y === undefined ? "is-post" : "is-knob"} ${handle.upright ? "is-upright" : ""}`}
              style={{ color: `var(--${handle.colour ?? "accent"})` }}
              role="slider"
              tabIndex={handle.disabled ? -1 : 0}
              aria-label={handle.label}
              aria-disabled={handle.disabled}
              aria-orientation={handle.upright ? "vertical" : "horizontal"}
              aria-valuemin={handle.low}
              aria-valuemax={handle.high}
              aria-valuenow={handle.upright ? (handle.y ?? 0) : handle.x}
              aria-valuetext={handle.says}
              onPointerDown={(event) => drag(handle, event)}
              onKeyDown={(event) => press(handle, event)}
            >
              <i />
            </div>
          ))}
        </div>
      </div>
    </div>
  );
}
