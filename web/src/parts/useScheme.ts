import { useEffect, useState } from "preact/hooks";

const queries = ["(prefers-color-scheme: dark)", "(prefers-contrast: more)"];

/** A word that changes when the reader's colours do: what is drawn on a canvas must be drawn again. */
export function useScheme(): string {
  const read = () => queries.map((query) => matchMedia(query).matches).join();
  const [scheme, setScheme] = useState(read);
  useEffect(() => {
    const lists = queries.map((query) => matchMedia(query));
    const changed = () => setScheme(read());
    for (const list of lists) list.addEventListener("change", changed);
    return () => {
      for (const list of lists) list.removeEventListener("change", changed);
    };
  }, []);
  return scheme;
}
