// A button that opens a file of this machine; what is chosen is handed on and the same can be chosen again.
import { useRef } from "preact/hooks";

interface Props {
  says: string;
  accept?: string;
  main?: boolean;
  open: (file: File) => void;
}

export function FileButton({ says, accept, main = false, open }: Props) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <button type="button" class={main ? "main" : ""} onClick={() => input.current?.click()}>
        {says}
      </button>
      <input
        ref={input}
        type="file"
        hidden
        accept={accept}
        onChange={(event) => {
          const file = event.currentTarget.files?.[0];
          event.currentTarget.value = "";
          if (file) open(file);
        }}
      />
    </>
  );
}

/** Files that are let go over an element. */
export function dropping(open: (file: File) => void) {
  return {
    onDragOver: (event: DragEvent) => event.preventDefault(),
    onDrop: (event: DragEvent) => {
      event.preventDefault();
      const file = event.dataTransfer?.files[0];
      if (file) open(file);
    },
  };
}

/** The text of a file: UTF-8, or what a byte-order mark says, else Latin-1, as the program reads it. */
export async function textOfFile(file: File): Promise<string> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  const utf16 = (bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff);
  if (utf16) return new TextDecoder(bytes[0] === 0xff ? "utf-16le" : "utf-16be").decode(bytes);
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder("latin1").decode(bytes);
  }
}
