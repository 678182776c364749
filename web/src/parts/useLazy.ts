// A part that is large or seldom wanted, fetched when it is first shown.
import type { ComponentType } from "preact";
import { useEffect, useState } from "preact/hooks";

/** The component once it is here; null before, and when it cannot be had (the program was stopped). */
export function useLazy<P>(load: () => Promise<{ default: ComponentType<P> }>): ComponentType<P> | null {
  const [made, setMade] = useState<{ View: ComponentType<P> } | null>(null);
  useEffect(() => {
    let wanted = true;
    load()
      .then(({ default: View }) => wanted && setMade({ View }))
      .catch(() => undefined); // the foot of the page says already that nobody answers
    return () => {
      wanted = false;
    };
  }, []);
  return made?.View ?? null;
}
