import { defineConfig } from "vite";

export default defineConfig({
  esbuild: { jsx: "automatic", jsxImportSource: "preact" },
  build: {
    target: "es2021",
    assetsInlineLimit: 0, // a data: address would need a wider content security policy
    modulePreload: { polyfill: false },
  },
});
