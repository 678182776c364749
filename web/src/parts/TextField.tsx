// A labelled line to type in.
interface Props {
  says: string;
  value: string;
  set: (value: string) => void;
  secret?: boolean;
  autocomplete?: string;
  maxLength?: number;
  wrong?: boolean;
}

export function TextField({ says, value, set, secret, autocomplete, maxLength, wrong }: Props) {
  return (
    <label>
      <span>{says}</span>
      <input
        {...(secret ? ({ type: "password" } as const) : ({ type: "text" } as const))}
        value={value}
        autocomplete={autocomplete}
        maxLength={maxLength}
        aria-invalid={wrong}
        onInput={(event) => set(event.currentTarget.value)}
      />
    </label>
  );
}
