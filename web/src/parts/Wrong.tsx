// What is wrong, in red and said aloud; nothing while nothing is.
import type { Problem } from "../api/types";
import { saidOf } from "../lib/problem";

export function Wrong({ problem, where = false }: { problem: Problem | null; where?: boolean }) {
  if (!problem) return null;
  return (
    <p role="alert" class="wrong">
      {where && problem.where && `${problem.where}: `}
      {saidOf(problem)}
    </p>
  );
}

/** The same for a sentence of the page's own. */
export function WrongWords({ says }: { says: string | null | undefined | false }) {
  return says ? (
    <p role="alert" class="wrong">
      {says}
    </p>
  ) : null;
}
