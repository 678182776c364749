// One visit of the record, chosen: where a place of the workbench takes runs from a visit.

import { useEffect, useState } from "preact/hooks";
import { get } from "../api/client";
import type { Problem, Standing, VisitHead, Visits } from "../api/types";

/** The visits there are, the newest chosen at first, and where the chosen one stands. */
export function useChosenVisit(turned: () => void = () => {}) {
  const [visits, setVisits] = useState<VisitHead[] | null>(null);
  const [visit, setVisit] = useState("");
  const [standing, setStanding] = useState<Standing | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  useEffect(() => {
    get<Visits>("/api/v1/visits").then((answer) => {
      setProblem(answer.problem);
      setVisits(answer.data?.visits ?? []);
      setVisit(answer.data?.visits[0]?.visit ?? "");
    });
  }, []);
  useEffect(() => {
    if (visit === "") return;
    setStanding(null);
    turned();
    get<Standing>(`/api/v1/visits/${encodeURIComponent(visit)}`).then((answer) => {
      setProblem(answer.problem);
      setStanding(answer.data);
    });
  }, [visit]);
  return { visits, visit, setVisit, standing, problem, setProblem };
}

interface Props {
  of: Pick<ReturnType<typeof useChosenVisit>, "visits" | "visit" | "setVisit">;
  label: string;
  none: string;
}

export function VisitChoice({ of: { visits, visit, setVisit }, label, none }: Props) {
  if (!visits) return null;
  if (visits.length === 0) return <p>{none}</p>;
  return (
    <label>
      <span>{label}</span>
      <select value={visit} onChange={(event) => setVisit(event.currentTarget.value)}>
        {visits.map((each) => (
          <option key={each.visit} value={each.visit}>
            {each.analyser}, {each.visit}
          </option>
        ))}
      </select>
    </label>
  );
}
