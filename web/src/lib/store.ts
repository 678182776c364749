// A value that several parts of the page share, and that tells them when it changes.
import { useEffect, useState } from "preact/hooks";

export interface Store<T> {
  get: () => T;
  set: (next: T) => void;
  subscribe: (heard: (now: T) => void) => () => void;
}

export function createStore<T>(first: T): Store<T> {
  let now = first;
  const ears = new Set<(now: T) => void>();
  return {
    get: () => now,
    set: (next) => {
      if (Object.is(next, now)) return;
      now = next;
      for (const ear of [...ears]) ear(now);
    },
    subscribe: (heard) => {
      ears.add(heard);
      return () => ears.delete(heard);
    },
  };
}

export function useStore<T>(store: Store<T>): T {
  const [value, setValue] = useState(store.get);
  useEffect(() => {
    setValue(() => store.get()); // what changed between the first drawing and now
    return store.subscribe((now) => setValue(() => now));
  }, [store]);
  return value;
}
