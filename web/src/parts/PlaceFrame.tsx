// The frame of a place: its name, the question it answers, and what is in it.
import type { ComponentChildren } from "preact";

interface Props {
  title: string;
  says: ComponentChildren;
  children: ComponentChildren;
}

export function PlaceFrame({ title, says, children }: Props) {
  return (
    <div class="frame">
      <main class="column">
        <header class="place-head">
          <h1>{title}</h1>
          <p class="soft">{says}</p>
        </header>
        {children}
      </main>
    </div>
  );
}
