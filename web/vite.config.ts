import { defineConfig } from "vite";

// Few files compress better than many, and each is asked for once. The frame and the visit come with the first view,
// in one file; what draws comes with the first trace; the places beside the visit together, with the first of them.
const files: [string, RegExp][] = [
  ["shell", /\/src\/(pages\/(visit|visits|now)|texts\/(visit|visits|now|sign))\b/],
  ["plot", /\/src\/(parts\/(plot\/|TraceChart)|lib\/plot|texts\/plot)/],
  ["places", /\/src\/(pages\/|texts\/(trace|twin|analysers|look|sums|files|settings|demo)\b)/],
];

export default defineConfig({
  esbuild: { jsx: "automatic", jsxImportSource: "preact" },
  build: {
    target: "es2022",
    minify: "terser",
    terserOptions: { module: true, ecma: 2020, compress: { passes: 3 } },
    assetsInlineLimit: 0, // a data: address would need a wider content security policy
    modulePreload: { polyfill: false },
    rollupOptions: {
      output: { manualChunks: (id) => files.find(([, what]) => what.test(id))?.[0] ?? "shell" },
    },
  },
});
