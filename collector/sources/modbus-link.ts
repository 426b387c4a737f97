/** One way to Modbus devices, open: a serial bus or a TCP connection, asked through modbus-serial. */
import { once } from "node:events";
import { connect } from "node:net";
import { setTimeout as delay } from "node:timers/promises";
import modbus from "modbus-serial";
import { SerialPort } from "serialport";
import type { ModbusSettings } from "../settings.ts";
import { RtuPort } from "./modbus-rtu.ts";

const { default: ModbusClient } = modbus;
type Client = InstanceType<typeof ModbusClient>;

const connectTimeoutMs = 5_000;
const closeTimeoutMs = 500;
/** After a fault the bus must have been quiet for this long before the next question (assumed): an answer may come late. */
const quietMs = 50;
/** Frames stand at least 3.5 characters of 11 bits apart, and 1.75 ms at high speed (Modbus over serial line V1.02, §2.5.1.1). */
const gapMs = (baud: number) => Math.max(1.75, (3.5 * 11 * 1000) / baud);

export interface Question {
  unit: number;
  functionCode: 3 | 4;
  /** On the wire, from 0. */
  address: number;
  /** Registers of 16 bits, 1 to 125. */
  count: number;
}

export interface ModbusFault {
  /** Counted by this. */
  kind: string;
  /** For the state; the same fault says the same words. */
  words: string;
  /** Whether something on the other side understands Modbus and said no. */
  isReply: boolean;
  /** For the log. */
  detail: Record<string, unknown>;
}

/** The words of the registers, or what went wrong. */
export type ModbusAnswer = { registers: number[] } | { fault: ModbusFault };

export interface Link {
  /** Aborted when the link is lost (its reason says how, in words) or the signal it was opened with is. */
  readonly over: AbortSignal;
  /** One question at a time. Undefined once the link is over; never rejects. */
  ask(question: Question): Promise<ModbusAnswer | undefined>;
  /** Never rejects. */
  close(): Promise<void>;
}

/** Opens the serial port or the connection. Rejects when that fails or the signal is aborted meanwhile. */
export function openLink(settings: ModbusSettings, signal: AbortSignal): Promise<Link> {
  const { path, host } = settings;
  if (path !== undefined) return openRtu({ ...settings, path }, signal);
  if (host !== undefined) return openTcp({ ...settings, host }, signal);
  throw new TypeError("neither path nor host");
}

async function openRtu(settings: ModbusSettings & { path: string }, signal: AbortSignal): Promise<Link> {
  const { path, baud, dataBits, parity, stopBits, timeoutMs } = settings;
  const line = new SerialPort({ path, baudRate: baud, dataBits, parity, stopBits, autoOpen: false });
  await new Promise<void>((resolve, reject) => line.open((error) => (error === null ? resolve() : reject(error))));
  const lost = new AbortController();
  line.on("error", (error) => lost.abort(`failed, trying again: ${error.message}`));
  line.on("close", () => lost.abort("unplugged, trying again"));
  const over = AbortSignal.any([signal, lost.signal]);
  const port = new RtuPort(line);
  const client = new ModbusClient(port);
  client.on("error", () => undefined);
  await new Promise<void>((resolve) => client.open(resolve));
  client.setTimeout(timeoutMs);

  /** Lets the rest of an answer run out, for no longer than an answer may take. */
  const untilQuiet = async () => {
    const givenUpMs = performance.now() + timeoutMs + quietMs;
    do await delay(quietMs, undefined, { signal: over }).catch(() => undefined);
    while (!over.aborted && port.quietMs() < quietMs && performance.now() < givenUpMs);
  };
  return {
    over,
    async ask(question) {
      await delay(Math.ceil(gapMs(baud)), undefined, { signal: over }).catch(() => undefined);
      const answer = await askClient(client, question, over);
      if (answer === undefined || "registers" in answer) return answer;
      if (answer.fault.isReply) return answer;
      const { kind, heard } = port.giveUp();
      await untilQuiet();
      return { fault: faultOf(question.unit, kind, { ...question, heard }) };
    },
    async close() {
      client.destroy(() => undefined);
      if (!line.isOpen) return;
      const closed = new Promise<void>((resolve) => line.close(() => resolve()));
      await Promise.race([closed, delay(closeTimeoutMs, undefined, { ref: false })]);
    },
  };
}

async function openTcp(settings: ModbusSettings & { host: string }, signal: AbortSignal): Promise<Link> {
  const { host, port, timeoutMs } = settings;
  const socket = connect({ host, port, noDelay: true });
  const lost = new AbortController();
  socket.on("error", (error) => lost.abort(`failed, trying again: ${error.message}`));
  socket.on("close", () => lost.abort("closed by the other side, trying again"));
  const over = AbortSignal.any([signal, lost.signal]);
  const tooLong = setTimeout(() => socket.destroy(new Error("no connection in time")), connectTimeoutMs);
  const client = new ModbusClient();
  client.on("error", () => undefined);
  try {
    await once(socket, "connect", { signal });
    await client.linkTCP(socket, { port });
  } catch (error) {
    socket.destroy();
    throw error;
  } finally {
    clearTimeout(tooLong);
  }
  client.setTimeout(timeoutMs);
  return {
    over,
    ask: (question) => askClient(client, question, over),
    async close() {
      client.destroy(() => undefined);
    },
  };
}

async function askClient(client: Client, question: Question, over: AbortSignal): Promise<ModbusAnswer | undefined> {
  if (over.aborted) return undefined;
  const { unit, functionCode, address, count } = question;
  client.setID(unit);
  const reading =
    functionCode === 3 ? client.readHoldingRegisters(address, count) : client.readInputRegisters(address, count);
  const answer = reading.then(
    ({ data }): ModbusAnswer =>
      data.length === count ? { registers: data } : { fault: faultOf(unit, "unfitting answer", { ...question, data }) },
    (error: unknown): ModbusAnswer => ({ fault: faultOfError(question, error) }),
  );
  const done = new AbortController();
  const ended = new Promise<undefined>((resolve) =>
    over.addEventListener("abort", () => resolve(undefined), { once: true, signal: done.signal }),
  );
  try {
    return await Promise.race([answer, ended]);
  } finally {
    done.abort();
  }
}

/** Exception codes by name (Modbus application protocol specification V1.1b3, §7). */
const exceptions: Record<number, string> = {
  1: "illegal function",
  2: "illegal data address",
  3: "illegal data value",
  4: "server device failure",
  5: "acknowledge",
  6: "server device busy",
  8: "memory parity error",
};
/** With these a gateway says that the device behind it is not there. */
const gatewayCodes = [10, 11];

function faultOfError(question: Question, error: unknown): ModbusFault {
  const { unit } = question;
  const { message, name, modbusCode } = error as { message?: string; name?: string; modbusCode?: number };
  const detail = { ...question, error: message };
  if (modbusCode !== undefined) {
    if (gatewayCodes.includes(modbusCode)) return { ...faultOf(unit, "no answer", detail), isReply: true };
    const kind = `exception ${modbusCode}`;
    const words = `unit ${unit} answers ${kind} (${exceptions[modbusCode] ?? "of no known meaning"})`;
    return { kind, words, isReply: true, detail };
  }
  if (name === "TransactionTimedOutError") return faultOf(unit, "no answer", detail);
  const isForeign = message?.startsWith("Unexpected data error, expected address") === true;
  return faultOf(unit, isForeign ? "another unit's answer" : "unfitting answer", detail);
}

function faultOf(unit: number, kind: string, detail: Record<string, unknown>): ModbusFault {
  return { kind, words: wordsOf(unit, kind), isReply: false, detail };
}

function wordsOf(unit: number, kind: string): string {
  switch (kind) {
    case "no answer":
      return `unit ${unit} does not answer`;
    case "another unit's answer":
      return `another answers instead of unit ${unit}`;
    case "unfitting answer":
      return `unit ${unit} answers what was not asked`;
    default:
      return `answers of unit ${unit} come damaged`;
  }
}
