import { describe, expect, it } from "vitest";
import type { Finding, JudgedVisit, StageShown, Standing, Step } from "../api/types";
import {
  deciding,
  firstStep,
  forecast,
  minutesText,
  placed,
  stageFindings,
  standingEvidence,
  statements,
} from "./visit";

const step = (name: string, state: Step["state"] = "open", minutes = 10): Step => ({
  name,
  state,
  minutes,
  class: "note",
  what: "",
  why: "",
  caution: null,
  wants: "words",
  after: [],
  waits_for: [],
  evidence: [],
});
const stage = (name: string, ...steps: Step[]): StageShown => ({
  name,
  title: name,
  state: "open",
  establishes: "",
  steps,
});
const visit = (...stages: StageShown[]) =>
  ({ stages, now: { stage: "arrive", step: "permit" } }) as unknown as Standing;

describe("a visit", () => {
  const it2 = visit(
    stage("prepare", step("reason", "done"), step("kit")),
    stage("arrive", step("permit", "open", 30)),
    stage("settle", step("wait")),
  );
  it("shows what is to be done now", () => {
    expect(firstStep(it2)?.step.name).toBe("permit");
    expect(firstStep({ ...it2, now: null })?.step.name).toBe("wait");
    expect(placed(it2, "nothing")).toBeNull();
  });
  it("forecasts from the plan's minutes what has not begun", () => {
    expect(forecast(it2, 0)).toEqual([
      { stage: "arrive", at: 600_000 },
      { stage: "settle", at: 2_400_000 },
    ]);
  });
  it("takes the newest evidence that stands", () => {
    const kept = (entry: number, standing: "current" | "withdrawn") => ({
      entry,
      standing,
      value: "x",
      kind: "words",
      by: "",
      at: "",
      recorded: "",
    });
    const one = { ...step("a"), evidence: [kept(1, "current"), kept(2, "current"), kept(3, "withdrawn")] };
    expect(standingEvidence(one)?.entry).toBe(2);
    expect(standingEvidence(step("b"))).toBeNull();
  });
  it("says minutes as people do", () => {
    expect(minutesText(35.4)).toBe("35 min");
    expect(minutesText(120)).toBe("2 h");
    expect(minutesText(-3)).toBe("0 min");
    expect(minutesText(260)).toBe("4 h 20 min");
  });
});

describe("the findings of a stage", () => {
  const finding = (id: string, more: Partial<Finding>) => ({ id, verdict: "meets", ...more }) as Finding;
  it("are those that its evidence feeds, of its gas and its basis", () => {
    const prove = stage("prove", {
      ...step("proving gas runs"),
      feeds: "cv_bias",
      gas: "proving",
      basis: "as_left",
    });
    const found = stageFindings(prove, [
      finding("cv_bias", { basis: "as_left" }),
      finding("cv_bias", { basis: "as_found" }),
      finding("unnormalised_total", { gas: "proving", basis: "as_left" }),
      finding("unnormalised_total", { gas: "line", basis: "as_left" }),
      finding("component_bias:ethane", { basis: "as_left", verdict: "fails" }),
      finding("component_bias:methane", { basis: "as_left" }),
      finding("leak_rate", { basis: "as_left" }),
    ]);
    expect(found.map((f) => f.id)).toEqual(["component_bias:ethane", "cv_bias", "unnormalised_total"]);
  });
  it("are none where nothing is fed", () => {
    expect(stageFindings(stage("arrive", step("permit")), [finding("cv_bias", {})])).toEqual([]);
  });
});

describe("can I sign", () => {
  const finding = (id: string, verdict: Finding["verdict"], more: Partial<Finding> = {}) =>
    ({ id, verdict, required: true, basis: "as_left", ...more }) as Finding;
  it("counts a provisional finding as open", () => {
    const { findings, open } = deciding([
      finding("a", "meets"),
      finding("b", "fails"),
      finding("c", "meets", { provisional: true }),
      finding("d", "fails", { basis: "as_found" }),
      finding("e", "fails", { required: false }),
    ]);
    expect(findings.map((f) => f.id)).toEqual(["b", "a", "c"]);
    expect(open).toBe(2);
  });
  it("names what stands first against a statement", () => {
    const judged = {
      ledger: [
        { what: "gas test", why: "open", work: true, conformity: false },
        { what: "tight", why: "open", work: true, conformity: true },
      ],
      may_sign: { work: false, conformity: false },
    } as unknown as JudgedVisit;
    const said = statements(judged, { work: "W", conformity: "C" }, "yes");
    expect(said.map((s) => s.why)).toEqual(["gas test: open, and 1 more", "tight: open"]);
  });
});
