// brotli.mjs BUNDLE OUT: every file of the bundle once more as OUT/<path>.br, at the highest quality.
// Node's own library, so that the build asks for no further program.
import { mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { brotliCompressSync, constants } from "node:zlib";

const [bundle, out] = process.argv.slice(2);
rmSync(out, { recursive: true, force: true });
for (const name of readdirSync(bundle, { recursive: true })) {
  const file = join(bundle, name);
  if (!statSync(file).isFile()) continue;
  const bytes = readFileSync(file);
  const packed = brotliCompressSync(bytes, {
    params: {
      [constants.BROTLI_PARAM_QUALITY]: constants.BROTLI_MAX_QUALITY,
      [constants.BROTLI_PARAM_LGWIN]: constants.BROTLI_MAX_WINDOW_BITS,
      [constants.BROTLI_PARAM_MODE]: constants.BROTLI_MODE_TEXT,
      [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length,
    },
  });
  const to = join(out, `${name}.br`);
  mkdirSync(dirname(to), { recursive: true });
  writeFileSync(to, packed);
}
