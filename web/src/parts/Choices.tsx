// One of a few words, each as large as a thumb.
import { useId } from "preact/hooks";

interface Props<T extends string> {
  legend: string;
  choices: readonly (readonly [T, string])[];
  chosen: T | null;
  choose: (next: T) => void;
}

export function Choices<T extends string>({ legend, choices, chosen, choose }: Props<T>) {
  const name = useId();
  return (
    <fieldset class="field">
      <legend>{legend}</legend>
      <div class="choices">
        {choices.map(([value, says]) => (
          <label key={value}>
            <input type="radio" name={name} checked={chosen === value} onChange={() => choose(value)} />
            <span>{says}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}
