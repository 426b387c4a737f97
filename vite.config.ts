import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";
import { pageTexts } from "./web/build/page-texts.ts";

const web = (path: string) => fileURLToPath(new URL(`./web/${path}`, import.meta.url));

/** The pages: four entries, one folder of hashed assets, nothing inline, since the server's policy allows no inline script. */
export default defineConfig({
  root: web(""),
  base: "/",
  plugins: [pageTexts()],
  resolve: {
    alias: [
      // Pages get their messages read, so that they need no reader.
      { find: /^@formatjs\/icu-messageformat-parser$/, replacement: "@formatjs/icu-messageformat-parser/no-parser.js" },
      // And draw a code's squares themselves.
      { find: /^qrcode$/, replacement: "qrcode/lib/core/qrcode.js" },
    ],
  },
  oxc: { jsx: { runtime: "automatic", importSource: "preact" } },
  build: {
    outDir: "../dist/web",
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: "es2022",
    rolldownOptions: {
      input: { index: web("index.html"), wall: web("wall.html"), desk: web("desk.html"), office: web("office.html") },
      // Of a build of a second or two, a share says nothing.
      checks: { bundlerTimings: false },
    },
  },
});
