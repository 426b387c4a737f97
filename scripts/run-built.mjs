/** Runs a compiled module by its path under dist/, after installing and building what is missing. */
import { build, install } from "./prepare.mjs";

const [module, ...rest] = process.argv.slice(2);
install();
build();
process.argv.splice(1, process.argv.length - 1, module, ...rest);
await import(`../dist/${module}`);
