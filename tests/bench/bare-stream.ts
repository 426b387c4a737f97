/** The floor of the event bench, in a process of its own: an MQTT broker and an event stream with nothing in between. */
import express from "express";
import mqtt from "mqtt";
import { pino } from "pino";
import { startEmbeddedBroker } from "../../predictor/readings/broker.ts";

const broker = await startEmbeddedBroker({
  shop: "bench",
  port: 0,
  listen: "this-machine",
  credentials: null,
  logger: pino({ level: "silent" }),
});
const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`, { protocolVersion: 4 });
const app = express();
app.get("/stream", (_request, response) => {
  response.writeHead(200, { "Content-Type": "text/event-stream" });
  client.on("message", (_topic, payload) => response.write(`event: reading\ndata: ${payload.toString()}\n\n`));
  response.write("event: hello\ndata: {}\n\n");
});
await client.subscribeAsync("readings", { qos: 1 });
const server = app.listen(0, () => {
  const address = server.address();
  if (typeof address === "object" && address !== null) console.log(`${broker.port} ${address.port}`);
});
