/** The firmware in MicroPython's own WebAssembly port, on a fake board: fakes/ stands in for what the port lacks. */
import { readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { loadMicroPython } from "@micropython/micropython-webassembly-pyscript/micropython.mjs";

export interface FakeBoard {
  /** Runs Python and gives the lines it wrote; what Python raises is thrown. */
  run(code: string): string[];
  /** Puts another text in the place of a file, before anything imports it. */
  replace(file: string, text: string): void;
}

const folders = [resolve(import.meta.dirname, "../../hardware/firmware"), join(import.meta.dirname, "fakes")];

export async function fakeBoard(): Promise<FakeBoard> {
  let lines: string[] = [];
  const python = await loadMicroPython({ stdout: (line) => lines.push(line) });
  python.FS.mkdir("/firmware");
  const replace = (file: string, text: string) => python.FS.writeFile(`/firmware/${file}`, text);
  for (const folder of folders) {
    for (const file of readdirSync(folder).filter((each) => each.endsWith(".py"))) {
      replace(file, readFileSync(join(folder, file), "utf8"));
    }
  }
  // Files go before what is built into the port, so that the fake time is the one that is imported.
  python.runPython('import sys\nsys.path.insert(0, "/firmware")\nimport fake_time\nsys.modules["time"] = fake_time');
  return {
    replace,
    run: (code) => {
      lines = [];
      python.runPython(code);
      return lines;
    },
  };
}
