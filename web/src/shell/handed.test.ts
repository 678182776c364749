import { expect, it } from "vitest";
import { handOver, taken } from "./handed";

it("hands a file over once, to who wants its kind", () => {
  const file = new File(["x"], "x.csv");
  handOver({ file, kind: "report" }, { file, kind: "trace" });
  expect(taken("cylinder")).toBeNull();
  expect(taken("trace")?.kind).toBe("trace");
  expect(taken("trace")).toBeNull();
  expect(taken("report", "trace")?.kind).toBe("report");
});
