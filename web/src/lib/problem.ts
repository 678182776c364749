import type { Problem } from "../api/types";

/** A problem in words for a reader of the page: what mends it by the command line is left out. */
export function saidOf(problem: Pick<Problem, "what" | "mend">): string {
  const forTerminal = /--[a-z]|gaswright /.test(problem.mend);
  return forTerminal || problem.mend === "" ? problem.what : `${problem.what} To mend it: ${problem.mend}.`;
}
