import type { Socket } from "node:net";
import { PassThrough } from "node:stream";
import { expect, it } from "vitest";
import { Connections } from "./broker-connections.ts";

let nextPort = 1;
const socketFrom = (remoteAddress: string) =>
  Object.assign(new PassThrough(), { remoteAddress, remotePort: nextPort++ }) as unknown as Socket;

it("makes room by ending the oldest connection of whoever has the most", () => {
  const ended: string[] = [];
  const connections = new Connections(5, (address) => ended.push(address));
  const lamp = socketFrom("192.0.2.1");
  const greedy = Array.from({ length: 10 }, () => socketFrom("192.0.2.66"));
  connections.admit(lamp);
  for (const socket of greedy) connections.admit(socket);
  expect(greedy.map((socket) => socket.destroyed)).toEqual(greedy.map((_, n) => n < 6));
  expect(lamp.destroyed).toBe(false);
  expect(ended).toEqual(Array.from({ length: 6 }, () => "192.0.2.66"));
});

it("spares those who have signed in, and the program above all", () => {
  const connections = new Connections(4, () => undefined);
  const own = Array.from({ length: 3 }, () => socketFrom("127.0.0.1"));
  for (const socket of own) {
    connections.admit(socket);
    connections.signedIn(socket, null, true);
  }
  const collector = socketFrom("192.0.2.2");
  connections.admit(collector);
  connections.signedIn(collector, "booth", false);
  const late = socketFrom("192.0.2.3");
  connections.admit(late);
  expect(late.destroyed).toBe(true);
  expect([...own, collector].some((socket) => socket.destroyed)).toBe(false);
});

it("counts the connections of a name together, and frees the place of one that has closed", async () => {
  const connections = new Connections(3, () => undefined);
  const faulty = ["192.0.2.4", "192.0.2.5"].map(socketFrom);
  for (const socket of faulty) {
    connections.admit(socket);
    connections.signedIn(socket, "faulty", false);
  }
  const good = socketFrom("192.0.2.6");
  connections.admit(good);
  connections.signedIn(good, "good", false);
  connections.admit(socketFrom("192.0.2.7"));
  expect(faulty.map((socket) => socket.destroyed)).toEqual([true, false]);
  good.destroy();
  await new Promise((resolve) => setImmediate(resolve));
  connections.admit(socketFrom("192.0.2.8"));
  expect(faulty[1]?.destroyed).toBe(false);
});
