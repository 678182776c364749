// A window of our own over the page: the browser's <dialog>, so that keyboard and screen reader stay inside.
import type { ComponentChildren } from "preact";
import { useEffect, useId, useRef } from "preact/hooks";
import { shellTexts } from "../texts/shell";

interface Props {
  title: string;
  children: ComponentChildren;
  /** Asked by the close button, by Escape and by a tap beside it. */
  onClose: () => void;
  wide?: boolean;
}

export function Dialog({ title, children, onClose, wide = false }: Props) {
  const box = useRef<HTMLDialogElement>(null);
  const id = useId();
  useEffect(() => {
    const before = document.activeElement;
    box.current?.showModal();
    return () => {
      if (before instanceof HTMLElement) before.focus();
    };
  }, []);
  return (
    // biome-ignore lint/a11y/useKeyWithClickEvents: Escape does the same, by the browser
    <dialog
      ref={box}
      class={wide ? "window wide" : "window"}
      aria-labelledby={id}
      onCancel={(event) => {
        event.preventDefault();
        onClose();
      }}
      onClick={(event) => {
        if (event.target === box.current) onClose();
      }}
    >
      <div class="window-inside">
        <header>
          <h2 id={id}>{title}</h2>
          <button type="button" class="quiet" onClick={onClose}>
            {shellTexts.close}
          </button>
        </header>
        {children}
      </div>
    </dialog>
  );
}
