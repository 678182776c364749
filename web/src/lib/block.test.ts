import { expect, it } from "vitest";
import { rowsOf } from "./block";

it("takes a block apart, and refuses one of another length", () => {
  const bytes = new ArrayBuffer(8 + 8 * 4);
  new DataView(bytes).setUint32(0, 2, true);
  new Float64Array(bytes, 8).set([1, 2, 30, 40]);
  expect(rowsOf(bytes, 2)).toEqual([Float64Array.of(1, 2), Float64Array.of(30, 40)]);
  expect(rowsOf(bytes, 3)).toBeNull();
  expect(rowsOf(new ArrayBuffer(3), 1)).toBeNull();
  expect(rowsOf(new ArrayBuffer(8), 2)).toEqual([new Float64Array(), new Float64Array()]);
});
