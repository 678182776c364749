// Which runs and findings are shown first; no sums.
import type { Comparison, Finding, RunLine, Visit } from "../api/types";

/** The run to open with: the last proving run, for it decides. */
export function firstChoice(visit: Visit): string | null {
  const proving = visit.runs.filter((run) => run.gas === "proving");
  return (proving.at(-1) ?? visit.runs.at(-1))?.id ?? null;
}

/** The run that a key leads to; null for a key that means nothing here. */
export function stepped(runs: RunLine[], chosen: string | null, key: string): string | null {
  const at = runs.findIndex((run) => run.id === chosen);
  const to: Record<string, number> = {
    ArrowRight: at + 1,
    ArrowDown: at + 1,
    ArrowLeft: at - 1,
    ArrowUp: at - 1,
    Home: 0,
    End: runs.length - 1,
  };
  const index = to[key];
  if (index === undefined) return null;
  return runs[Math.min(runs.length - 1, Math.max(0, index))]?.id ?? null;
}

export type Shown = "leading" | "all";

const detail = (id: string) => id.includes(":");

/** The leading findings: those about the whole gas, and any about one component that fails. */
export function shownFindings(rows: Comparison[], shown: Shown): Comparison[] {
  if (shown === "all") return rows;
  const fails = (f: Finding | null) => f?.verdict === "fails";
  return rows.filter((row) => !detail(row.id) || fails(row.as_found) || fails(row.as_left));
}

export const verdictWord: Record<Finding["verdict"], string> = {
  meets: "meets",
  fails: "fails",
  unclear: "unclear",
  not_yet: "not yet",
  missing: "missing",
  not_applicable: "not applicable",
  no_limit: "no limit",
};

export const basisWord = { as_found: "as found", as_left: "as left" } as const;

/** ", line gas, stream 1": what the title does not say already. */
export function whereText(finding: Finding): string {
  const said = finding.title.toLowerCase();
  const parts = [];
  if (finding.gas && !said.includes(`${finding.gas} gas`)) parts.push(`${finding.gas} gas`);
  if (finding.stream) parts.push(`stream ${finding.stream}`);
  return parts.map((part) => `, ${part}`).join("");
}
