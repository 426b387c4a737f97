import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

const web = (path: string) => fileURLToPath(new URL(`./web/${path}`, import.meta.url));

/** The pages: four entries, one folder of hashed assets, nothing inline, since the server's policy allows no inline script. */
export default defineConfig({
  root: web(""),
  base: "/",
  oxc: { jsx: { runtime: "automatic", importSource: "preact" } },
  build: {
    outDir: "../dist/web",
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: "es2022",
    rolldownOptions: {
      input: { index: web("index.html"), wall: web("wall.html"), desk: web("desk.html"), office: web("office.html") },
    },
  },
});
