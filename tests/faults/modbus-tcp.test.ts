/** The Modbus source over TCP: a server that behaves, and servers that do not. */
import { once } from "node:events";
import type { Server, Socket } from "node:net";
import { createServer } from "node:net";
import { ServerTCP } from "modbus-serial";
import { afterEach, describe, expect, it, vi } from "vitest";
import { freePort } from "./brokers.ts";
import { ModbusBench, patience, temperature } from "./modbus-bench.ts";

const host = "127.0.0.1";
let bench: ModbusBench;
let ends: (() => Promise<void>)[] = [];

afterEach(async () => {
  await bench.stop();
  for (const end of ends) await end();
  ends = [];
});

interface Request {
  transaction: number;
  unit: number;
  functionCode: number;
  address: number;
}

/** A frame as the Modbus messaging on TCP/IP guide V1.0b has it (§3.1.3): transaction, protocol 0, length, unit, the rest. */
const frame = (transaction: number, unit: number, ...rest: number[]) =>
  Buffer.from([transaction >> 8, transaction & 0xff, 0, 0, 0, rest.length + 1, unit, ...rest]);
const answer = ({ transaction, unit, functionCode }: Request, word: number) =>
  frame(transaction, unit, functionCode, 2, word >> 8, word & 0xff);

/** A server that does with each request what it is told to. */
async function serve(port: number, handle: (request: Request, socket: Socket) => void): Promise<void> {
  const sockets = new Set<Socket>();
  const server: Server = createServer((socket) => {
    sockets.add(socket);
    socket.on("error", () => undefined);
    socket.on("data", (data: Buffer) => {
      for (let from = 0; from + 12 <= data.length; from += 12) {
        const [transaction, address] = [data.readUInt16BE(from), data.readUInt16BE(from + 8)];
        handle({ transaction, unit: data[from + 6] ?? 0, functionCode: data[from + 7] ?? 0, address }, socket);
      }
    });
  });
  server.listen(port, host);
  await once(server, "listening");
  ends.push(async () => {
    for (const socket of sockets) socket.destroy();
    await new Promise<void>((closed) => server.close(() => closed()));
  });
}

async function endServers(): Promise<void> {
  for (const end of ends) await end();
  ends = [];
}

describe("ModbusSource over TCP", () => {
  it("reads both kinds of registers of several units behind a server of another make", async () => {
    const port = await freePort();
    const vector = {
      getInputRegister: (address: number, unit: number) => 100 * unit + address,
      getHoldingRegister: (address: number) => [0x41_f4, 0x7a_e1][address - 10] ?? 0,
    };
    const server = new ServerTCP(vector, { host, port, unitID: 255 });
    server.on("socketError", () => undefined);
    ends.push(() => new Promise((closed) => server.close(() => closed())));
    bench = new ModbusBench({ host, port });
    const float = { sensor: "float", address: 11, type: "float32", scale: 1 };
    bench.start(temperature(1), temperature(2), { unit: 3, functionCode: 3, addressBase: 1, registers: [float] });
    await vi.waitFor(() => expect(bench.taken.length).toBeGreaterThanOrEqual(6), patience);
    expect(bench.taken.slice(0, 3)).toMatchObject([
      { sensor: "unit-1", value: 10.1 },
      { sensor: "unit-2", value: 20.1 },
      { sensor: "float", value: 30.56 },
    ]);
    expect(bench.state()).toBe("receiving");
    expect(Object.keys(bench.counters()).sort()).toEqual(["opened", "readings"]);
  });

  it.each<[string, string, string, (request: Request, socket: Socket) => void]>([
    ["silence", "no answer", "unit 8 does not answer", () => undefined],
    [
      "an answer to another transaction",
      "no answer",
      "unit 8 does not answer",
      (request, socket) => socket.write(answer({ ...request, transaction: request.transaction + 7 }, 999)),
    ],
    [
      "another unit's answer",
      "another unit's answer",
      "another answers instead of unit 8",
      (request, socket) => socket.write(answer({ ...request, unit: 9 }, 999)),
    ],
    [
      "too few registers",
      "unfitting answer",
      "unit 8 answers what was not asked",
      ({ transaction }, socket) => socket.write(frame(transaction, 8, 4, 0, 0, 1)),
    ],
    [
      "a count that is not true",
      "unfitting answer",
      "unit 8 answers what was not asked",
      ({ transaction }, socket) => socket.write(frame(transaction, 8, 4, 200, 0, 1)),
    ],
    [
      "an exception",
      "exception 6",
      "unit 8 answers exception 6 (server device busy)",
      ({ transaction }, socket) => socket.write(frame(transaction, 8, 0x84, 6)),
    ],
    [
      "a gateway that cannot reach it",
      "no answer",
      "unit 8 does not answer",
      ({ transaction }, socket) => socket.write(frame(transaction, 8, 0x84, 11)),
    ],
  ])("counts and names %s, and goes on with the other unit", async (_what, kind, words, misbehave) => {
    const port = await freePort();
    await serve(port, (request, socket) => {
      if (request.unit === 8) misbehave(request, socket);
      else socket.write(answer(request, 111));
    });
    bench = new ModbusBench({ host, port });
    bench.start(temperature(1), temperature(8));
    await bench.untilState(`receiving; ${words}`);
    await bench.untilRead("unit-1", 11.1);
    expect(bench.values("unit-8")).toEqual([]);
    const { opened, readings, ...faults } = bench.counters();
    expect({ opened, faults: Object.keys(faults) }).toEqual({ opened: 1, faults: [kind] });
  });

  it("takes no late answer for the answer to a later question", async () => {
    const port = await freePort();
    await serve(port, (request, socket) => {
      if (request.address === 1) socket.write(answer(request, 111));
      else setTimeout(() => socket.write(answer(request, 999)), bench.everyMs);
    });
    bench = new ModbusBench({ host, port });
    const registers = [1, 20].map((address) => ({ sensor: `register-${address}`, address }));
    bench.start({ unit: 1, registers });
    await bench.untilCounted("no answer", 3);
    expect(new Set(bench.values("register-1"))).toEqual(new Set([11.1]));
    expect(bench.values("register-20")).toEqual([]);
  });

  it("opens the connection again when half a frame has put all that follows out of step", async () => {
    const port = await freePort();
    let requests = 0;
    await serve(port, (request, socket) => {
      requests += 1;
      const whole = answer(request, 111);
      socket.write(requests === 2 ? whole.subarray(0, 8) : whole);
    });
    bench = new ModbusBench({ host, port });
    bench.start(temperature(1));
    await bench.untilCounted("opened", 2);
    await bench.untilRead("unit-1", 11.1);
    expect(new Set(bench.values("unit-1"))).toEqual(new Set([11.1]));
    await bench.untilState("receiving");
  });

  it.each<[string, (request: Request, socket: Socket) => void]>([
    ["ended", (request, socket) => socket.end(answer(request, 111).subarray(0, 5))],
    ["reset", (_request, socket) => socket.resetAndDestroy()],
  ])("says so when the connection is %s, and connects again", async (_how, misbehave) => {
    const port = await freePort();
    let isKind = false;
    await serve(port, (request, socket) => {
      if (isKind) socket.write(answer(request, 111));
      else misbehave(request, socket);
    });
    bench = new ModbusBench({ host, port });
    bench.start(temperature(1));
    await bench.untilState(/^(closed by the other side|failed), trying again/);
    expect(bench.values("unit-1")).toEqual([]);
    isKind = true;
    await bench.untilRead("unit-1", 11.1);
    await bench.untilState("receiving");
  });

  it("waits for a server that is not there yet, and for one that comes back", async () => {
    const port = await freePort();
    const behave = (request: Request, socket: Socket) => void socket.write(answer(request, 111));
    bench = new ModbusBench({ host, port });
    bench.start(temperature(1));
    await bench.untilState(/^cannot open, trying again: .*ECONNREFUSED/);
    await serve(port, behave);
    await bench.untilRead("unit-1", 11.1);
    await endServers();
    await bench.untilState(/trying again/);
    await serve(port, behave);
    await bench.untilRead("unit-1", 11.1);
  });

  it("stops at once while it waits long for an answer, and leaves no connection behind", async () => {
    const port = await freePort();
    let connection: Socket | undefined;
    await serve(port, (_request, socket) => {
      connection = socket;
    });
    bench = new ModbusBench({ host, port }, { timeoutMs: 30_000 });
    bench.start(temperature(1));
    await vi.waitFor(() => expect(connection).toBeDefined(), patience);
    const beforeMs = performance.now();
    await bench.stop();
    expect(performance.now() - beforeMs).toBeLessThan(1_000);
    await vi.waitFor(() => expect(connection?.readyState).not.toBe("open"), patience);
    expect(bench.state()).toBe("stopped");
  });
});
