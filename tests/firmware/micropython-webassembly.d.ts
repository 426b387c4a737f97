/** What these tests use of MicroPython's WebAssembly port, which brings no types of its own. */
declare module "@micropython/micropython-webassembly-pyscript/micropython.mjs" {
  export interface MicroPython {
    FS: { mkdir(path: string): void; writeFile(path: string, text: string): void };
    runPython(code: string): unknown;
  }
  export function loadMicroPython(options: { stdout: (line: string) => void }): Promise<MicroPython>;
}
