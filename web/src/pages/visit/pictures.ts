// Which pictures of evidence belong to a stage; each is fetched when it is first wanted.
import type { Finding, StageShown } from "../../api/types";

export type Basis = "as_found" | "as_left";

export interface PictureProps {
  visit: string;
  /** The entry that the findings were made after: when it grows the picture is asked for anew. */
  last: number;
  bases: Basis[];
  /** Of the visit's own clock. */
  now: number | null;
}

const ofCalibration = (stage: StageShown, basis: Basis) =>
  stage.steps.some(
    (step) =>
      step.basis === basis &&
      (step.role === "calibration" || (step.wants === "run" && step.gas === "calibration")),
  );

/** States of the analyser whose calibration is evidence in this stage, and of which something was found. */
export function factorBases(stage: StageShown, findings: Finding[]): Basis[] {
  const judged = (basis: Basis) =>
    findings.some((finding) => finding.basis === basis && /^factor_(order|pattern|shift:)/.test(finding.id));
  const deciding = stage.steps.some((step) => step.name === "decision");
  return (["as_found", "as_left"] as const).filter(
    (basis) => judged(basis) && (ofCalibration(stage, basis) || (deciding && basis === "as_found")),
  );
}

/** Whether what settles is evidence here: where its series is wanted, and where runs show the same. */
export function settles(stage: StageShown): boolean {
  return stage.steps.some((step) => step.feeds === "settled") || ofCalibration(stage, "as_left");
}
