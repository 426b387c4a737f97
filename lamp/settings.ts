/** What the shop file says about lamps and buzzers: which output shows what, and how it is driven. docs/lamp.md explains it. */
import { z } from "zod";
import { nameSchema } from "../collector/readings.ts";
import { stageNameSchema } from "../predictor/cure/sheet.ts";
import { rules, urgencies } from "../predictor/warnings/condition.ts";

const readySchema = z.strictObject({
  /** On while the stage a coat is ready for now is this one, or one of these. */
  ready: z.union([stageNameSchema.transform((stage) => [stage]), z.array(stageNameSchema).min(1)]),
  place: nameSchema,
});
const warningSchema = z.strictObject({
  warning: z.enum([...rules, "any"]),
  /** Any place, and any urgency, unless set. */
  place: nameSchema.optional(),
  urgency: z.enum(urgencies).optional(),
});
/** On while no predictor has given a sign of life: a dark lamp then is not taken for 'not ready'. */
const lostSchema = z.strictObject({ lost: z.literal(true) });
const whenSchema = z.union(
  [readySchema, warningSchema, lostSchema],
  "one of { ready: stage, place: … }, { warning: rule or any }, { lost: true }, see docs/lamp.md",
);
export type When = z.infer<typeof whenSchema>;

const lineSchema = z.strictObject({
  /** `gpiochip0`, or the label that `gpiodetect` prints, which stays when the number changes. */
  chip: z.string().regex(/^\w[\w.,:@-]{0,62}$/, "expected a chip such as pinctrl-rp1, from gpiodetect"),
  /** The line's number on its chip; on a Raspberry Pi's header the GPIO number, not the pin's. */
  offset: z.number().int().min(0).max(1023),
  /** On is the low level: for relay boards that switch on when their input is pulled down. */
  activeLow: z.boolean().default(false),
});
export type LineSettings = z.infer<typeof lineSchema>;

/** Short enough to be seen, long enough for a relay and for a process to be started each time. */
const flashSeconds = z.number().min(0.5).max(60);
const patternSchema = z.union(
  [
    z.literal("steady"),
    z.strictObject({ pulse: z.strictObject({ onSeconds: flashSeconds, offSeconds: flashSeconds }) }),
    z.strictObject({ once: z.strictObject({ seconds: flashSeconds }) }),
  ],
  "steady, { pulse: { onSeconds, offSeconds } } or { once: { seconds } }, each 0.5 to 60 seconds",
);
export type Pattern = z.infer<typeof patternSchema>;

const outputSchema = z
  .strictObject({
    when: whenSchema,
    line: lineSchema.optional(),
    /** A program of the installer's: run with one argument, on or off. */
    command: z.string().startsWith("/", "expected an absolute path such as /usr/local/bin/buzzer").optional(),
    pattern: patternSchema.default("steady"),
  })
  .refine(({ line, command }) => (line === undefined) !== (command === undefined), "either line or command");
export type OutputSettings = z.infer<typeof outputSchema>;

/** What the output switches, in words; two outputs with the same would fight over it. */
export function driveName({ line, command }: Pick<OutputSettings, "line" | "command">): string {
  return line === undefined ? `command ${command}` : `line ${line.offset} of ${line.chip}`;
}

export const lampSchema = z.strictObject({
  /** True for a lamp on another machine: this one does not start it. */
  elsewhere: z.boolean().default(false),
  outputs: z
    .array(outputSchema)
    .min(1)
    .refine(
      (outputs) => new Set(outputs.map(driveName)).size === outputs.length,
      "a line or command of its own for each output",
    ),
});
export type LampSettings = z.infer<typeof lampSchema>;

/** By the lamp's name. */
export const lampsSchema = z.record(nameSchema, lampSchema);
