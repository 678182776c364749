// The only fetch. Answers data or a problem, never an exception.
import type { Outline, Problem, Run, Visit } from "./types";

export type Answer<T> = { data: T; problem: null } | { data: null; problem: Problem };

async function get<T>(path: string, signal?: AbortSignal): Promise<Answer<T>> {
  try {
    const reply = await fetch(path, { headers: { Accept: "application/json" }, signal: signal ?? null });
    return (await reply.json()) as Answer<T>;
  } catch (fault) {
    const aborted = fault instanceof DOMException && fault.name === "AbortError";
    return {
      data: null,
      problem: {
        code: aborted ? "aborted" : "offline",
        what: "The program does not answer.",
        where: path,
        mend: "See that gaswright serve still runs, then try again.",
      },
    };
  }
}

export const getOutline = () => get<Outline>("/api/v1/outline");
export const getVisit = () => get<Visit>("/api/v1/visit");
export const getRun = (id: string, signal: AbortSignal) =>
  get<Run>(`/api/v1/runs/${encodeURIComponent(id)}`, signal);

/** Tells whether the program is there. Answers how to stop listening. */
export function listen(heard: (there: boolean) => void): () => void {
  const events = new EventSource("/api/v1/events");
  events.addEventListener("hello", () => heard(true));
  events.addEventListener("error", () => heard(false));
  return () => events.close();
}
