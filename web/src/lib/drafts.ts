// Half-typed entries: kept in this browser with every letter, so that sleep, a closed window and a flat battery
// cost nothing. A draft is forgotten when it has become an entry.
import { useEffect, useState } from "preact/hooks";
import { forget, keep, kept } from "./kept";

export type Draft = Record<string, string>;

const isDraft = (value: unknown): value is Draft =>
  typeof value === "object" &&
  value !== null &&
  Object.values(value).every((each) => typeof each === "string");

const keyOf = (name: string) => `draft.${name}`;

export function draftOf(name: string): Draft {
  return kept(keyOf(name), {}, isDraft);
}

/** A draft of that name: its fields, how to set one, how to forget all; whether it was here before. */
export function useDraft(name: string) {
  const [draft, setDraft] = useState<Draft>(() => draftOf(name));
  const [restored, setRestored] = useState(() => Object.keys(draftOf(name)).length > 0);
  useEffect(() => {
    const before = draftOf(name);
    setDraft(before);
    setRestored(Object.keys(before).length > 0);
  }, [name]);
  const put = (field: string, value: string) => {
    setDraft((now) => {
      const next = { ...now, [field]: value };
      if (value === "") delete next[field];
      if (Object.keys(next).length === 0) forget(keyOf(name));
      else keep(keyOf(name), next);
      return next;
    });
  };
  const clear = () => {
    forget(keyOf(name));
    setDraft({});
    setRestored(false);
  };
  return { draft, put, clear, restored };
}
