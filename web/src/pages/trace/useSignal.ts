// The samples that the plot needs: the whole run coarsely, and finely what is looked at.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { traceStretch } from "../../api/desk";
import type { TraceShown } from "../../api/types";
import { type Stretch, span } from "../../lib/plot";

export interface Signal {
  t: Float64Array;
  y: Float64Array;
  base: Float64Array;
  of: Stretch;
}

const coarse = 6000;
const fine = 8000;

export function useSignal(trace: TraceShown | null, detector: number) {
  const [whole, setWhole] = useState<Signal | null>(null);
  const [near, setNear] = useState<Signal | null>(null);
  const asked = useRef<AbortController | null>(null);
  const id = trace?.id;
  useEffect(() => {
    setWhole(null);
    setNear(null);
    if (!trace) return undefined;
    const away = new AbortController();
    const of = { from: trace.start_s, to: trace.end_s };
    traceStretch(trace.id, detector, { ...of, most: coarse }, away.signal).then(({ data }) => {
      const [t, y, base] = data ?? [];
      if (t && y && base && !away.signal.aborted) setWhole({ t, y, base, of });
    });
    return () => away.abort();
  }, [id, detector]);
  const rested = useMemo(
    () => (view: Stretch) => {
      if (!trace || trace.samples <= coarse) return;
      const width = span(view);
      if (width > 0.5 * (trace.end_s - trace.start_s)) return;
      // One view more on either side, so that a drag finds what it comes to.
      const of = {
        from: Math.max(trace.start_s, view.from - width),
        to: Math.min(trace.end_s, view.to + width),
      };
      asked.current?.abort();
      const away = new AbortController();
      asked.current = away;
      traceStretch(trace.id, detector, { ...of, most: fine }, away.signal).then(({ data }) => {
        const [t, y, base] = data ?? [];
        if (t && y && base && !away.signal.aborted) setNear({ t, y, base, of });
      });
    },
    [id, detector],
  );
  useEffect(() => () => asked.current?.abort(), []);
  return { whole, near, rested };
}
