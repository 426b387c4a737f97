import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { SysfsTree } from "../../tests/faults/sysfs-tree.ts";
import { faultOf, readPatiently } from "./patient-file.ts";

const never = new AbortController().signal;
let tree: SysfsTree;
beforeEach(() => {
  tree = new SysfsTree();
});
afterEach(async () => {
  tree.remove();
  // The reads that were let go come back.
  await delay(50);
});

function fileWith(name: string, text: string): string {
  const path = join(tree.folder, name);
  writeFileSync(path, text);
  return path;
}

function hangingFile(name: string): string {
  const path = join(tree.folder, name);
  tree.hang(path);
  return path;
}

describe("readPatiently", () => {
  it("reads a small file, and no more than a page of a large one", async () => {
    expect(await readPatiently(fileWith("one", "23500\n"), "bus", never)).toEqual({ text: "23500\n" });
    const large = await readPatiently(fileWith("large", "x".repeat(10_000)), "bus", never);
    expect(large).toEqual({ text: "x".repeat(4096) });
  });

  it("tells a file that is gone, one that cannot be read, and an input/output error apart", async () => {
    expect(await readPatiently(join(tree.folder, "none"), "bus", never)).toEqual({ fault: "unplugged" });
    mkdirSync(join(tree.folder, "one"));
    expect(await readPatiently(join(tree.folder, "one"), "bus", never)).toEqual({ fault: "cannot read: EISDIR" });
    // The first page of a process's memory is never mapped: the kernel answers with EIO.
    expect(await readPatiently("/proc/self/mem", "bus", never)).toEqual({ fault: "input/output error" });
  });

  it("gives up a read that hangs, and starts no second one on its bus until it came back", async () => {
    const pipe = hangingFile("pipe");
    const one = fileWith("one", "1\n");
    expect(await readPatiently(pipe, "bus-a", never, 100)).toEqual({ fault: "no answer" });
    const fromMs = performance.now();
    expect(await readPatiently(one, "bus-a", never, 100)).toEqual({ fault: "bus hangs" });
    expect(performance.now() - fromMs).toBeLessThan(50);
    expect(await readPatiently(one, "bus-b", never, 100)).toEqual({ text: "1\n" });
    tree.release(pipe, "2\n");
    await delay(50);
    expect(await readPatiently(one, "bus-a", never, 100)).toEqual({ text: "1\n" });
  });

  it("lets no more than two reads hang in all, so that Node keeps threads for the rest of the program", async () => {
    const hanging = ["a", "b"].map((bus) => readPatiently(hangingFile(bus), bus, never, 100));
    expect(await Promise.all(hanging)).toEqual([{ fault: "no answer" }, { fault: "no answer" }]);
    expect(await readPatiently(fileWith("one", "1\n"), "bus-c", never, 100)).toEqual({ fault: "bus hangs" });
  });

  it("waits for a read on the same bus that is under way and does not hang", async () => {
    const path = fileWith("one", "1\n");
    const reads = Array.from({ length: 8 }, () => readPatiently(path, "bus", never));
    expect(await Promise.all(reads)).toEqual(reads.map(() => ({ text: "1\n" })));
  });

  it("comes back at once when it is told to stop", async () => {
    const ending = new AbortController();
    const reading = readPatiently(hangingFile("pipe"), "bus", ending.signal);
    const fromMs = performance.now();
    await delay(20);
    ending.abort();
    await reading;
    expect(performance.now() - fromMs).toBeLessThan(1000);
  });
});

describe("faultOf", () => {
  it.each([
    ["ENOENT", "unplugged"],
    ["ENODEV", "unplugged"],
    ["EIO", "input/output error"],
    ["ETIMEDOUT", "timed out"],
    ["EREMOTEIO", "no acknowledge"],
    ["EACCES", "not permitted"],
    ["EINVAL", "cannot read: EINVAL"],
  ])("names %s: %s", (code, fault) => {
    expect(faultOf(Object.assign(new Error("read"), { code }))).toBe(fault);
  });
});
