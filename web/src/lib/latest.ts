// While something is dragged every frame asks anew. One question at a time is under way; of those that come
// meanwhile only the last is asked next.

export interface Latest<Asked> {
  ask: (what: Asked) => void;
  /** Forgets what waits; what is under way is not told of. */
  stop: () => void;
}

export function latest<Asked, Told>(
  run: (what: Asked) => Promise<Told>,
  told: (answer: Told) => void,
): Latest<Asked> {
  let waiting: { what: Asked } | null = null;
  let busy = false;
  let stopped = false;
  const next = async () => {
    while (waiting && !stopped) {
      const { what } = waiting;
      waiting = null;
      busy = true;
      const answer = await run(what);
      busy = false;
      if (!stopped) told(answer);
    }
  };
  return {
    ask: (what) => {
      waiting = { what };
      if (!busy) next();
    },
    stop: () => {
      stopped = true;
      waiting = null;
    },
  };
}
