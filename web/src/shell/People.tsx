// Names that are known, for every field that asks who: <input list="people">. Asked for when such a field is first
// gone into, so that the first view does not wait for it.
import { useEffect, useState } from "preact/hooks";
import { get, on } from "../api/client";
import type { People as Known } from "../api/types";

export const peopleList = "people";

export function People() {
  const [names, setNames] = useState<string[]>([]);
  useEffect(() => {
    let asked = false;
    const ask = () =>
      get<Known>("/api/v1/people").then(({ data }) => {
        if (data) setNames([...new Set(data.people.map((person) => person.name))]);
      });
    const into = (event: FocusEvent) => {
      if (
        asked ||
        !(event.target instanceof HTMLInputElement) ||
        event.target.getAttribute("list") !== peopleList
      )
        return;
      asked = true;
      ask();
    };
    addEventListener("focusin", into);
    const heard = on("record", (news) => {
      if (asked && news.subjects.some((each) => each.subject.startsWith("person:"))) ask();
    });
    return () => {
      removeEventListener("focusin", into);
      heard();
    };
  }, []);
  return (
    <datalist id={peopleList}>
      {names.map((name) => (
        <option key={name} value={name} />
      ))}
    </datalist>
  );
}
