/** A certificate from the running program, in the hands of someone who has only the file and the commands. */
import { spawnSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { CarCertificate, CoatCertificate } from "../../predictor/proof/certificate-file.ts";
import { carsSchema } from "../../predictor/serve/api.ts";
import { signIn } from "../served-shop.ts";
import { type Program, pin, startProgram } from "./program.ts";

const compiled = resolve(import.meta.dirname, "../../dist/predictor");
let program: Program;
let cookie: string;
beforeAll(async () => {
  program = await startProgram();
  cookie = await signIn(program.address, "Quality A", pin);
}, 60_000);
afterAll(async () => {
  await program.stop();
});

function run(command: "batch" | "verify-file", ...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [join(compiled, `${command}.js`), ...args], {
    encoding: "utf8",
  });
  return { status, stdout, stderr };
}
const verify = (file: string, folder = join(program.folder, "data")) => run("verify-file", file, "--data", folder);

async function issue(of: string): Promise<{ file: string; bytes: Buffer }> {
  const headers = { "content-type": "application/json", cookie };
  const answer = await fetch(`${program.address}/api/${of}/certificates`, { method: "POST", headers, body: "{}" });
  const { digest } = (await answer.json()) as { digest: string };
  const taken = await fetch(`${program.address}/api/certificates/${digest}/file`);
  const bytes = Buffer.from(await taken.arrayBuffer());
  const file = join(program.folder, `${digest}.json`);
  writeFileSync(file, bytes);
  return { file, bytes };
}

/** A car of the rehearsal that has coats with a prediction, known once the painter's first hours are read. */
async function car() {
  const cars = async () => carsSchema.parse(await program.get("/api/cars")).cars;
  const ready = async () => (await cars()).find(({ coats }) => coats.some(({ prediction }) => prediction !== null));
  await expect.poll(ready, { timeout: 60_000 }).toBeDefined();
  return (await ready()) as NonNullable<Awaited<ReturnType<typeof ready>>>;
}

describe("a certificate, away from the program", () => {
  it("is reckoned again from its file, and verified while the program runs", async () => {
    const { coats } = await car();
    const coat = coats.find(({ prediction }) => prediction !== null);
    const { file, bytes } = await issue(`coats/${coat?.id}`);
    const certificate = JSON.parse(bytes.toString()) as CoatCertificate;
    const predicted = run("batch", file);
    expect(predicted).toMatchObject({ status: 0, stderr: "" });
    expect(JSON.parse(predicted.stdout)).toEqual(certificate.outcome);
    const verified = verify(file);
    expect(verified.stdout).toMatch(/readings .* (\d+) of \1 readings could be compared/);
    expect(verified).toMatchObject({ status: 0, stdout: expect.stringContaining("all is well") });
  });

  it("of a car asks which coat, and gives that one", async () => {
    const { file, bytes } = await issue(`cars/${(await car()).id}`);
    const { coats } = JSON.parse(bytes.toString()) as CarCertificate;
    const [first] = coats;
    const named = run("batch", file, first?.coat.id ?? "");
    expect(JSON.parse(named.stdout)).toEqual(first?.outcome);
    const wrong = run("batch", file, "none");
    expect(wrong).toMatchObject({ status: 2, stderr: expect.stringContaining(`  ${first?.coat.id}  `) });
    expect(verify(file)).toMatchObject({ status: 0 });
  });

  it("fails with 3 on a changed byte and on another shop's log, and with 2 where there is nothing to look at", async () => {
    const { coats } = await car();
    const { file, bytes } = await issue(`coats/${coats[0]?.id}`);
    const text = bytes.toString().replace(/"airC":2/, '"airC":1');
    writeFileSync(`${file}.changed`, text);
    expect(verify(`${file}.changed`)).toMatchObject({ status: 3, stdout: expect.stringMatching(/FAULT +digest/) });
    const other = await startProgram();
    try {
      const foreign = verify(file, join(other.folder, "data"));
      expect(foreign).toMatchObject({ status: 3, stdout: expect.stringContaining("holds no such certificate") });
    } finally {
      await other.stop();
    }
    expect(verify(`${file}.none`)).toMatchObject({ status: 2, stderr: expect.stringContaining("ENOENT") });
    expect(verify(file, join(program.folder, "none"))).toMatchObject({
      status: 2,
      stderr: expect.stringContaining("--data"),
    });
    expect(run("verify-file")).toMatchObject({ status: 2, stderr: expect.stringContaining("expected one file") });
  });
});
