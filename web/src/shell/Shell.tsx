// The frame around every place: where one can go, what is going on, and the place itself.
import type { ComponentType } from "preact";
import { useEffect, useState } from "preact/hooks";
import { presence, session } from "../api/client";
import { useStore } from "../lib/store";
import { placeTexts } from "../texts/places";
import { shellTexts } from "../texts/shell";
import { Dialog } from "./Dialog";
import { catchDrops } from "./handed";
import { People } from "./People";
import { type Place, type PlaceProps, places } from "./places";
import { address, go, matched, useAddress } from "./route";
import { useSettings } from "./settings";
import { Toasts } from "./toast";
import "./shell.css";

export function Say({ title, says, act }: { title: string; says: string; act?: [string, () => void] }) {
  return (
    <main class="sheet say">
      <h1>{title}</h1>
      <p role="alert">{says}</p>
      {act && (
        <button type="button" onClick={act[1]}>
          {act[0]}
        </button>
      )}
    </main>
  );
}

function found(path: string): { place: Place; params: Record<string, string> } | null {
  for (const place of places) {
    const params = matched(place.path, path);
    if (params) return { place, params };
  }
  return null;
}

// A place under another one lights that one up: a visit is among the visits.
const isUnder = (path: string, place: Place) =>
  place.path === "/"
    ? path === "/"
    : path === place.path ||
      path.startsWith(`${place.path.replace(/s$/, "")}/`) ||
      path.startsWith(`${place.path}/`);

function Links({ path, chosen }: { path: string; chosen?: () => void }) {
  return (
    <ul>
      {places
        .filter((place) => place.listed)
        .map((place) => (
          <li key={place.id}>
            <a
              href={place.path}
              title={placeTexts[place.id].asks}
              aria-current={isUnder(path, place) ? "page" : undefined}
              onClick={chosen}
            >
              {placeTexts[place.id].name}
            </a>
          </li>
        ))}
    </ul>
  );
}

function Bar({ path, place }: { path: string; place: Place | null }) {
  const [open, setOpen] = useState(false);
  const there = useStore(presence);
  return (
    <nav class="top" aria-label={shellTexts.places}>
      <a class="program" href="/">
        {shellTexts.program}
      </a>
      <div class="top-links">
        <Links path={path} />
      </div>
      <span class="top-place">{place ? placeTexts[place.id].name : ""}</span>
      {!there && (
        <span class="top-news" role="status">
          {shellTexts.stopped}
        </span>
      )}
      <button type="button" class="top-more" aria-haspopup="dialog" onClick={() => setOpen(true)}>
        {shellTexts.places}
      </button>
      {open && (
        <Dialog title={shellTexts.places} onClose={() => setOpen(false)}>
          <div class="places">
            <Links path={path} chosen={() => setOpen(false)} />
          </div>
        </Dialog>
      )}
    </nav>
  );
}

type Loaded = { place: Place; View: ComponentType<PlaceProps> } | { place: Place; View: null };

function useLoaded(place: Place | null): { loaded: Loaded | null; again: () => void } {
  const [loaded, setLoaded] = useState<Loaded | null>(null);
  const [attempt, setAttempt] = useState(0);
  useEffect(() => {
    if (!place) return undefined;
    let wanted = true;
    place
      .load()
      .then(({ default: View }) => wanted && setLoaded({ place, View }))
      .catch(() => wanted && setLoaded({ place, View: null }));
    return () => {
      wanted = false;
    };
  }, [place, attempt]);
  return { loaded, again: () => setAttempt(attempt + 1) };
}

export function Shell() {
  const { path } = useAddress();
  const known = useStore(session);
  const { system, mark } = useSettings();
  const at = found(path);
  useEffect(() => catchDrops(() => address.get().path !== "/files" && go("/files")), []);
  const { loaded, again } = useLoaded(at?.place ?? null);
  useEffect(() => {
    if (at) document.title = `${placeTexts[at.place.id].name}, ${shellTexts.program}`;
  }, [at?.place]);

  let content = null;
  if (!known) content = <Say {...shellTexts.stranger} act={[shellTexts.again, () => location.reload()]} />;
  else if (!at) content = <Say {...shellTexts.nowhere} />;
  else if (loaded?.place === at.place)
    content = loaded.View ? (
      <loaded.View key={`${path} ${system} ${mark}`} params={at.params} />
    ) : (
      <Say {...shellTexts.broken} act={[shellTexts.again, again]} />
    );
  return (
    <>
      <a class="skip" href="#content">
        {shellTexts.skip}
      </a>
      <Bar path={path} place={at?.place ?? null} />
      <div id="content" tabIndex={-1}>
        {content}
      </div>
      <People />
      <Toasts />
    </>
  );
}
