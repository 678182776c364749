// Short news that go away by themselves; one that can be taken back stays longer and waits for the reader.
import { useEffect, useState } from "preact/hooks";
import { createStore, useStore } from "../lib/store";
import { shellTexts } from "../texts/shell";

interface Toast {
  id: number;
  text: string;
  kind: "news" | "trouble";
  undo: (() => void) | null;
}

const toasts = createStore<Toast[]>([]);
let next = 1;

const gone = (id: number) => toasts.set(toasts.get().filter((toast) => toast.id !== id));

/** Says something; with `undo`, also how to take it back. */
export function say(text: string, undo: (() => void) | null = null): void {
  toasts.set([...toasts.get().slice(-2), { id: next++, text, kind: "news", undo }]);
}

export function complain(text: string): void {
  toasts.set([...toasts.get().slice(-2), { id: next++, text, kind: "trouble", undo: null }]);
}

function One({ toast }: { toast: Toast }) {
  const [held, hold] = useState(false);
  useEffect(() => {
    if (held) return undefined;
    const timer = setTimeout(() => gone(toast.id), toast.undo || toast.kind === "trouble" ? 12_000 : 6_000);
    return () => clearTimeout(timer);
  }, [held, toast]);
  return (
    <li
      class={`toast toast-${toast.kind}`}
      onMouseEnter={() => hold(true)}
      onMouseLeave={() => hold(false)}
      onFocusIn={() => hold(true)}
      onFocusOut={() => hold(false)}
    >
      <span>{toast.text}</span>
      {toast.undo && (
        <button
          type="button"
          onClick={() => {
            gone(toast.id);
            toast.undo?.();
          }}
        >
          {shellTexts.undo}
        </button>
      )}
      <button type="button" class="quiet" onClick={() => gone(toast.id)}>
        {shellTexts.close}
      </button>
    </li>
  );
}

export function Toasts() {
  const list = useStore(toasts);
  return (
    <div role="status" aria-live="polite">
      <ul class="toasts">
        {list.map((toast) => (
          <One key={toast.id} toast={toast} />
        ))}
      </ul>
    </div>
  );
}
