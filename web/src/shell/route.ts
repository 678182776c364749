// Which place the address names, and how to go to another without leaving the page.
import { createStore, useStore } from "../lib/store";

export interface Address {
  path: string;
  query: string;
}

const here = (): Address => ({ path: location.pathname, query: location.search });

export const address = createStore<Address>(here());
export const useAddress = () => useStore(address);

/** "/visit/:id" against "/visit/PX-1": {id: "PX-1"}; null when they do not match. */
export function matched(pattern: string, path: string): Record<string, string> | null {
  const want = pattern.split("/");
  const have = path.replace(/(.)\/$/, "$1").split("/");
  if (want.length !== have.length) return null;
  const params: Record<string, string> = {};
  for (const [i, part] of want.entries()) {
    const given = have[i] ?? "";
    if (part.startsWith(":")) {
      if (given === "") return null;
      try {
        params[part.slice(1)] = decodeURIComponent(given);
      } catch {
        return null; // a percent sign that encodes nothing
      }
    } else if (part !== given) return null;
  }
  return params;
}

/** Goes to a place of the page. `replace`: without leaving a step to come back to. */
export function go(path: string, replace = false): void {
  if (replace) history.replaceState(null, "", path);
  else history.pushState(null, "", path);
  address.set(here());
  if (!replace) window.scrollTo(0, 0);
}

/** Follows the reader's links and the browser's own back and forward. */
export function follow(): void {
  addEventListener("popstate", () => address.set(here()));
  addEventListener("click", (event) => {
    if (event.defaultPrevented || event.button !== 0) return;
    if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    const link = (event.target as Element).closest?.("a[href]");
    if (!(link instanceof HTMLAnchorElement) || link.target || link.hasAttribute("download")) return;
    if (link.protocol === "blob:" || link.origin !== location.origin || link.pathname.startsWith("/api/"))
      return;
    if (link.pathname === location.pathname && link.hash) return; // a jump within the page
    event.preventDefault();
    go(link.pathname + link.search);
  });
}
