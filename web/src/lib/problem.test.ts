import { expect, it } from "vitest";
import { saidOf } from "./problem";

it("leaves out what mends it in a terminal only", () => {
  expect(saidOf({ what: "No.", mend: "give --value" })).toBe("No.");
  expect(saidOf({ what: "No.", mend: "see gaswright visit list" })).toBe("No.");
  expect(saidOf({ what: "No.", mend: "give a number" })).toBe("No. To mend it: give a number.");
});
