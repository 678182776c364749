import { describe, expect, it } from "vitest";
import type { Comparison, Finding, RunLine, Visit } from "../api/types";
import { firstChoice, shownFindings, stepped, whereText } from "./choose";

const finding = (part: Partial<Finding>): Finding => ({
  id: "cv_bias",
  title: "Bias",
  value: 0,
  u: null,
  unit: "%",
  low: null,
  high: null,
  rule: "simple",
  k: 2,
  limit_source: "",
  verdict: "meets",
  required: true,
  inputs: [],
  ...part,
});
const run = (id: string, gas: RunLine["gas"]) => ({ id, gas }) as RunLine;
const runs = [run("a", "line"), run("b", "proving"), run("c", "line")];

describe("firstChoice", () => {
  it("is the last proving run, else the last, else none", () => {
    expect(firstChoice({ runs } as Visit)).toBe("b");
    expect(firstChoice({ runs: [run("a", "line")] } as Visit)).toBe("a");
    expect(firstChoice({ runs: [] as RunLine[] } as Visit)).toBeNull();
  });
});

describe("stepped", () => {
  it("walks along the line and stays on it", () => {
    expect(stepped(runs, "a", "ArrowRight")).toBe("b");
    expect(stepped(runs, "a", "ArrowLeft")).toBe("a");
    expect(stepped(runs, "c", "ArrowDown")).toBe("c");
    expect(stepped(runs, "b", "Home")).toBe("a");
    expect(stepped(runs, "b", "End")).toBe("c");
    expect(stepped(runs, null, "ArrowRight")).toBe("a");
  });
  it("leaves other keys alone", () => {
    expect(stepped(runs, "a", "Tab")).toBeNull();
    expect(stepped([], null, "End")).toBeNull();
  });
});

describe("shownFindings", () => {
  const row = (id: string, verdict: Finding["verdict"]): Comparison => ({
    id,
    title: id,
    as_found: finding({ verdict }),
    as_left: null,
  });
  const rows = [
    row("cv_bias", "meets"),
    row("component_bias:ethane", "fails"),
    row("component_bias:methane", "meets"),
  ];
  it("leads with the whole gas and with whatever fails", () => {
    expect(shownFindings(rows, "leading").map((r) => r.id)).toEqual(["cv_bias", "component_bias:ethane"]);
    expect(shownFindings(rows, "all")).toHaveLength(3);
  });
});

describe("whereText", () => {
  it("says only what the title does not", () => {
    expect(whereText(finding({ title: "Value on the proving gas", gas: "proving" }))).toBe("");
    expect(whereText(finding({ gas: "line", stream: "2" }))).toBe(", line gas, stream 2");
  });
});
