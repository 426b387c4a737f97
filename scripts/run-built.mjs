/** Runs a compiled module by its path under dist/, after installing and building what is missing. */
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { build, install, root } from "./prepare.mjs";

const [module, ...rest] = process.argv.slice(2);
install();
build();
const file = join(root, "dist", module);
process.argv.splice(1, process.argv.length - 1, file, ...rest);
await import(pathToFileURL(file).href);
