// The only fetch. Answers data or a problem, never an exception. The only listener to the program's events.
import { createStore } from "../lib/store";
import type { Job, Judging, Outline, Problem, RecordGrown, Run, Start, Visit } from "./types";

export type Answer<T> = { data: T; problem: null } | { data: null; problem: Problem };

/** Whether this window may ask at all. */
export const session = createStore(true);
/** Whether the program answers. */
export const presence = createStore(true);

const away: Problem = {
  code: "offline",
  what: "The program does not answer.",
  where: "",
  mend: "See that gaswright serve still runs, then try again.",
};

async function call<T>(path: string, init: RequestInit): Promise<Answer<T>> {
  try {
    const reply = await fetch(path, init);
    const answer = (await reply.json()) as Answer<T>;
    if (answer.problem?.code === "session") session.set(false);
    return answer;
  } catch (fault) {
    const aborted = fault instanceof DOMException && fault.name === "AbortError";
    return { data: null, problem: { ...away, where: path, code: aborted ? "aborted" : "offline" } };
  }
}

export const get = <T>(path: string, signal: AbortSignal | null = null) =>
  call<T>(path, { headers: { Accept: "application/json" }, signal });

export const post = <T>(path: string, body: unknown, signal: AbortSignal | null = null) =>
  call<T>(path, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
    signal,
  });

/** The bytes of a file as they are; what is to be said of it stands in the address. */
export const upload = <T>(path: string, bytes: Blob, signal: AbortSignal | null = null) =>
  call<T>(path, {
    method: "POST",
    headers: { "Content-Type": "application/octet-stream" },
    body: bytes,
    signal,
  });

/** Bytes of our own making: series for a chart. */
export async function bytes(path: string, signal: AbortSignal | null = null): Promise<Answer<ArrayBuffer>> {
  try {
    const reply = await fetch(path, { signal });
    if (reply.headers.get("Content-Type")?.startsWith("application/json"))
      return (await reply.json()) as Answer<ArrayBuffer>;
    return { data: await reply.arrayBuffer(), problem: null };
  } catch {
    return { data: null, problem: { ...away, where: path } };
  }
}

/** Posts, and leaves the bytes that come back in the reader's downloads. Answers what is wrong, or null. */
export async function download(path: string, body: unknown, name: string): Promise<Problem | null> {
  try {
    const reply = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    if (reply.headers.get("Content-Type")?.startsWith("application/json"))
      return ((await reply.json()) as Answer<unknown>).problem;
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await reply.blob());
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    return null;
  } catch {
    return { ...away, where: path };
  }
}

/** "/api/v1/visits/" + parts, each made safe for an address; what has no value stays out of the query. */
export function address(path: string, query: Record<string, string | null | undefined> = {}): string {
  const parts = Object.entries(query).filter(([, value]) => value != null && value !== "");
  const text = new URLSearchParams(parts as [string, string][]).toString().replaceAll("+", "%20");
  return text ? `${path}?${text}` : path;
}

export const getStart = () => get<Start>("/api/v1/start");
export const getOutline = () => get<Outline>("/api/v1/outline");
export const getVisit = () => get<Visit>("/api/v1/visit");
export const getRun = (id: string, signal: AbortSignal) =>
  get<Run>(`/api/v1/runs/${encodeURIComponent(id)}`, signal);

// ---- events

export interface News {
  record: RecordGrown;
  /** The findings of a visit are made, up to that entry. */
  judged: Pick<Judging, "visit" | "last_entry">;
  job: Omit<Job, "result" | "problem">;
  /** The connection came back: what was missed is not known, so ask anew. */
  back: null;
}

type Ear<K extends keyof News> = (news: News[K]) => void;
const ears: { [K in keyof News]: Set<Ear<K>> } = {
  record: new Set(),
  judged: new Set(),
  job: new Set(),
  back: new Set(),
};

function tell<K extends keyof News>(name: K, news: News[K]): void {
  for (const ear of [...ears[name]]) ear(news);
}

/** Hears every event of that name until the answer is called. */
export function on<K extends keyof News>(name: K, heard: Ear<K>): () => void {
  ears[name].add(heard);
  return () => ears[name].delete(heard);
}

/** Begins to listen, for as long as the page lives; the browser connects again by itself. */
export function listen(): void {
  const events = new EventSource("/api/v1/events");
  let lost = false;
  events.addEventListener("hello", () => {
    presence.set(true);
    if (lost) tell("back", null);
    lost = false;
  });
  events.addEventListener("error", () => {
    lost = true;
    presence.set(false);
    // A refusal ends the stream for good; the program may only have been started anew.
    if (events.readyState === EventSource.CLOSED) get("/api/v1/health");
  });
  const parsed = (event: Event) => JSON.parse((event as MessageEvent<string>).data) as unknown;
  events.addEventListener("record", (event) => tell("record", parsed(event) as RecordGrown));
  events.addEventListener("judged", (event) => tell("judged", parsed(event) as News["judged"]));
  events.addEventListener("job", (event) => tell("job", parsed(event) as News["job"]));
}
