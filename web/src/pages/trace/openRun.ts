// A run of a visit as the trace place shows it: under the method that the visit keeps for its state.
import { type Answer, bytes } from "../../api/client";
import { getTrace, nameTrace } from "../../api/desk";
import type { Standing, TraceShown } from "../../api/types";
import { methodOf, type RunOfVisit } from "../../lib/visitRuns";

export async function openRun(standing: Standing, run: RunOfVisit): Promise<Answer<TraceShown>> {
  const plain = await getTrace(run.sha256);
  const method = methodOf(standing, run.basis);
  if (!plain.data || !method) return plain;
  const file = await bytes(`/api/v1/visits/${encodeURIComponent(standing.visit)}/evidence/${method}`);
  if (!file.data) return plain;
  const named = await nameTrace(run.sha256, new TextDecoder().decode(file.data));
  // A method that does not fit names nothing: the trace itself is still there to be seen.
  return named.data ? named : plain;
}
