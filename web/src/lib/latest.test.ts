import { expect, it } from "vitest";
import { latest } from "./latest";

const rest = () => new Promise((done) => setTimeout(done, 0));

it("asks one at a time, and of those that wait the last only", async () => {
  const asked: number[] = [];
  const told: number[] = [];
  const open: (() => void)[] = [];
  const one = latest<number, number>(
    (n) =>
      new Promise((done) => {
        asked.push(n);
        open.push(() => done(10 * n));
      }),
    (answer) => told.push(answer),
  );
  one.ask(1);
  one.ask(2);
  one.ask(3);
  expect(asked).toEqual([1]);
  open[0]?.();
  await rest();
  expect(asked).toEqual([1, 3]);
  open[1]?.();
  await rest();
  expect(told).toEqual([10, 30]);
  one.ask(4);
  one.stop();
  open[2]?.();
  await rest();
  expect(told).toEqual([10, 30]);
});
