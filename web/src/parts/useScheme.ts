import { useEffect, useState } from "preact/hooks";

const read = () => {
  const { scheme, contrast } = document.documentElement.dataset;
  return `${scheme},${contrast}`;
};

/** A word that changes when the reader's colours do: what is drawn on a canvas must be drawn again. */
export function useScheme(): string {
  const [scheme, setScheme] = useState(read);
  useEffect(() => {
    const watch = new MutationObserver(() => setScheme(read()));
    watch.observe(document.documentElement, { attributeFilter: ["data-scheme", "data-contrast"] });
    return () => watch.disconnect();
  }, []);
  return scheme;
}
