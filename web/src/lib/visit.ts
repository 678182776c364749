// What a page needs to know of a visit's plan; no sums on gas.
import type {
  Finding,
  JudgedVisit,
  Kept,
  LedgerLine,
  StageShown,
  Standing,
  Statement,
  Step,
} from "../api/types";

export interface Placed {
  stage: StageShown;
  step: Step;
}

export function placed(visit: Standing, name: string | null): Placed | null {
  for (const stage of visit.stages)
    for (const step of stage.steps) if (step.name === name) return { stage, step };
  return null;
}

/** The step to show when nobody has chosen one: what is to be done now, else the last of all. */
export function firstStep(visit: Standing): Placed | null {
  const now = placed(visit, visit.now?.step ?? null);
  if (now) return now;
  const stage = visit.stages[visit.stages.length - 1];
  const step = stage?.steps[stage.steps.length - 1];
  return stage && step ? { stage, step } : null;
}

/** The newest evidence that stands. */
export function standingEvidence(step: Step): Kept | null {
  const standing = step.evidence.filter((each) => each.standing === "current");
  return standing[standing.length - 1] ?? null;
}

/** Minutes of a stage that are still open, by the plan. */
export function minutesOpen(stage: StageShown): number {
  return stage.steps.reduce((sum, step) => sum + (step.state === "open" ? step.minutes : 0), 0);
}

/** When stages that have not begun might begin, if each takes what the plan says: name, ms. */
export function forecast(visit: Standing, now: number): { stage: string; at: number }[] {
  let at = now;
  const out: { stage: string; at: number }[] = [];
  for (const stage of visit.stages) {
    const begun = stage.steps.some((step) => step.state !== "open");
    if (!begun) out.push({ stage: stage.name, at });
    at += minutesOpen(stage) * 60_000;
  }
  return out;
}

/** "4 h 20 min", "35 min". */
export function minutesText(minutes: number): string {
  const whole = Math.max(0, Math.round(minutes));
  const hours = Math.floor(whole / 60);
  const rest = whole % 60;
  if (hours === 0) return `${rest} min`;
  return rest === 0 ? `${hours} h` : `${hours} h ${rest} min`;
}

const urgency: Record<Finding["verdict"], number> = {
  fails: 0,
  missing: 1,
  not_yet: 2,
  unclear: 3,
  meets: 4,
  no_limit: 5,
  not_applicable: 5,
};

// What a signature rests on most stands first among equals.
const weight = [
  "cv_bias",
  "leak_rate",
  "settled",
  "unnormalised_total",
  "factor_order",
  "rings_balance",
  "cv_repeatability",
  "can_decide",
  "certificate_sum",
];
const rank = (finding: Finding) => {
  const at = weight.indexOf(finding.id);
  return at < 0 ? weight.length : at;
};

/** The findings that decide: required and as left, what is open first. */
export function deciding(findings: Finding[]): { findings: Finding[]; open: number } {
  const list = findings
    .filter((f) => f.required && f.basis !== "as_found")
    .sort((a, b) => urgency[a.verdict] - urgency[b.verdict] || rank(a) - rank(b));
  const open = list.filter((f) => f.provisional || urgency[f.verdict] < urgency.meets).length;
  return { findings: list, open };
}

// What a step feeds is one finding; what is made of the same evidence belongs beside it.
const beside: Record<string, RegExp> = {
  can_decide: /^(can_decide|certificate_sum|certificate_cv|expiry|pressure|cold_exposure)$/,
  cv_self_check: /^(cv_self_check|factor_order|factor_pattern|factor_shift:.*|unnormalised_total)$/,
  cv_bias: /^(cv_bias|cv_repeatability|wobbe_bias|density_bias|component_bias:.*|unnormalised_total)$/,
  line_gas: /^unnormalised_total$/,
};

const gasOf = (step: Step) =>
  step.gas ??
  (step.role?.startsWith("calibration")
    ? "calibration"
    : step.role?.startsWith("proving")
      ? "proving"
      : null);

/** The findings that a stage's evidence makes, what is open first; of those about one component only what fails. */
export function stageFindings(stage: StageShown, findings: Finding[]): Finding[] {
  const out = new Set<Finding>();
  for (const step of stage.steps) {
    if (!step.feeds) continue;
    const ids = beside[step.feeds];
    const gas = gasOf(step);
    for (const finding of findings) {
      if (ids ? !ids.test(finding.id) : finding.id !== step.feeds) continue;
      if (gas && finding.gas && finding.gas !== gas) continue;
      if (step.basis && finding.basis && finding.basis !== step.basis) continue;
      if (finding.id.includes(":") && finding.verdict !== "fails") continue;
      out.add(finding);
    }
  }
  return [...out].sort((a, b) => urgency[a.verdict] - urgency[b.verdict]);
}

export type Against = "work" | "conformity";

export const standsAgainst = (lines: LedgerLine[], what: Against) => lines.filter((line) => line[what]);

/** Both statements with what first stands against each. */
export function statements(judged: JudgedVisit, titles: Record<Against, string>, yes: string): Statement[] {
  return (["work", "conformity"] as const).map((id) => {
    const against = standsAgainst(judged.ledger, id);
    const first = against[0];
    const why = first
      ? `${first.what}: ${first.why}${against.length > 1 ? `, and ${against.length - 1} more` : ""}`
      : yes;
    return { id, title: titles[id], may_sign: judged.may_sign[id], why };
  });
}
