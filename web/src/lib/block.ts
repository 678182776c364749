// Numbers as the program sends them: how many (n), then rows of n floats of 64 bits, little-endian.

/** The rows of a block; null when it is no such block. */
export function rowsOf(bytes: ArrayBuffer, rows: number): Float64Array[] | null {
  if (bytes.byteLength < 8) return null;
  const n = new DataView(bytes).getUint32(0, true);
  if (bytes.byteLength !== 8 + 8 * n * rows) return null;
  const out: Float64Array[] = [];
  for (let row = 0; row < rows; row += 1) out.push(new Float64Array(bytes, 8 + 8 * n * row, n));
  return out;
}
