import { useLayoutEffect, useRef, useState } from "preact/hooks";

/** The width of a box, followed as it changes; never below `narrowest`, so that it scrolls instead. */
export function useWidth(narrowest: number) {
  const box = useRef<HTMLDivElement>(null);
  const [width, setWidth] = useState(1100);
  useLayoutEffect(() => {
    const element = box.current;
    if (!element) return;
    const watch = new ResizeObserver(() => setWidth(element.clientWidth));
    watch.observe(element);
    setWidth(element.clientWidth);
    return () => watch.disconnect();
  }, []);
  return { box, width: Math.max(narrowest, width) };
}
