// The readings that the chart needs: all of them coarsely, and finely what is looked at.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { historyStretch } from "../../api/desk";
import type { History } from "../../api/types";
import { type Stretch, span } from "../../lib/plot";

export interface Series {
  t: Float64Array;
  y: Float64Array;
  of: Stretch;
}

const coarse = 5000;
const fine = 6000;

export function useSeries(history: History, column: string) {
  const [whole, setWhole] = useState<Series | null>(null);
  const [near, setNear] = useState<Series | null>(null);
  const asked = useRef<AbortController | null>(null);
  const count = history.columns.find((each) => each.name === column)?.count ?? 0;
  useEffect(() => {
    setNear(null);
    const away = new AbortController();
    const of = { from: history.from_s, to: history.to_s };
    historyStretch(history.id, column, { ...of, most: coarse }, away.signal).then(({ data }) => {
      const [t, y] = data ?? [];
      if (t && y && !away.signal.aborted) setWhole({ t, y, of });
    });
    return () => away.abort();
  }, [history.id, column]);
  const rested = useMemo(
    () => (view: Stretch) => {
      if (count <= coarse || span(view) > 0.4 * (history.to_s - history.from_s)) return;
      const width = span(view);
      const of = { from: view.from - width, to: view.to + width };
      asked.current?.abort();
      const away = new AbortController();
      asked.current = away;
      historyStretch(history.id, column, { ...of, most: fine }, away.signal).then(({ data }) => {
        const [t, y] = data ?? [];
        if (t && y && !away.signal.aborted) setNear({ t, y, of });
      });
    },
    [history.id, column],
  );
  useEffect(() => () => asked.current?.abort(), []);
  return { whole, near, rested };
}
