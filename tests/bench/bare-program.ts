/** The floor of start and memory, in a process of its own: the libraries that Coatclock rests on, loaded, each begun, and idle. */
import { createServer } from "node:net";
import { Aedes } from "aedes";
import Database from "better-sqlite3";
import express from "express";
import mqtt from "mqtt";
import { z } from "zod";

const broker = await Aedes.createBroker();
const brokerServer = createServer(broker.handle);
await new Promise<void>((listening) => brokerServer.listen(0, "127.0.0.1", listening));
const brokerAddress = brokerServer.address();
if (typeof brokerAddress !== "object" || brokerAddress === null) throw new Error("no port");
const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${brokerAddress.port}`, { protocolVersion: 4 });
await client.subscribeAsync("readings", { qos: 1 });
const database = new Database(":memory:");
database.exec("CREATE TABLE readings (at_ms INTEGER PRIMARY KEY, value REAL)");
const schema = z.object({ value: z.number() });
const app = express();
app.get("/", (_request, response) => {
  response.json(schema.parse({ value: database.prepare("SELECT count(*) FROM readings").pluck().get() }));
});
const server = app.listen(Number(process.env.COATCLOCK_PORT), () => {
  const address = server.address();
  if (typeof address === "object" && address !== null) console.log(`listening ${address.port}`);
});
