/** One lamp or buzzer: what it shows, and in which pattern. */
import type { Logger } from "pino";
import { Command } from "./command.ts";
import type { Fact } from "./facts.ts";
import { Line } from "./line.ts";
import { Occurrences } from "./occurrences.ts";
import { driveName, type OutputSettings, type When } from "./settings.ts";
import { type OpenDrive, Switch } from "./switch.ts";

/** What a lamp knows at an instant. */
export interface Situation {
  /** Facts that may be shown, and all that are known. */
  shown: readonly Fact[];
  known: readonly Fact[];
  /** A predictor has given a sign of life lately. */
  isAlive: boolean;
  /** Tells one silence from another; null while there is none. */
  silence: string | null;
  /** What is told now was true before we came. */
  isQuiet: boolean;
}

export class Output {
  readonly name: string;
  readonly #settings: OutputSettings;
  readonly #switch: Pick<Switch, "set" | "state" | "stop">;
  readonly #occurrences = new Occurrences();
  #isOn = false;
  #timer: NodeJS.Timeout | undefined;

  constructor(
    settings: OutputSettings,
    logger: Logger,
    open = (ours: Logger): Pick<Switch, "set" | "state" | "stop"> => new Switch(driveOf(settings), ours),
  ) {
    this.name = driveName(settings);
    this.#settings = settings;
    this.#switch = open(logger.child({ output: this.name }));
  }

  show(situation: Situation): void {
    const { when, pattern } = this.#settings;
    if (pattern !== "steady" && "once" in pattern) this.#soundOnce(situation, pattern.once.seconds * 1000);
    else this.#shine(isTrue(when, situation));
  }

  /** In words: `on`, `off`, `switching`, or what hinders it. */
  state(): string {
    return this.#switch.state();
  }

  /** Switches off and lets go of the line. */
  async stop(): Promise<void> {
    clearTimeout(this.#timer);
    await this.#switch.stop();
  }

  #shine(on: boolean): void {
    if (on === this.#isOn) return;
    this.#isOn = on;
    clearTimeout(this.#timer);
    const { pattern } = this.#settings;
    if (on && pattern !== "steady" && "pulse" in pattern) this.#pulse(true, pattern.pulse);
    else this.#switch.set(on);
  }

  #pulse(on: boolean, times: { onSeconds: number; offSeconds: number }): void {
    this.#switch.set(on);
    this.#timer = setTimeout(() => this.#pulse(!on, times), (on ? times.onSeconds : times.offSeconds) * 1000);
  }

  #soundOnce(situation: Situation, ms: number): void {
    if (!this.#isNew(situation)) return;
    this.#switch.set(true);
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#switch.set(false), ms);
  }

  #isNew({ known, isAlive, isQuiet, silence }: Situation): boolean {
    const { when } = this.#settings;
    if ("lost" in when) return this.#occurrences.areNew(silence === null ? [] : [{ key: "lost", since: silence }]);
    // Without a sign of life nobody knows whether it is still true; what is new is said when one comes.
    return isAlive && this.#occurrences.areNew(known.filter((fact) => isOf(when, fact))) && !isQuiet;
  }
}

function isTrue(when: When, { shown, isAlive, silence }: Situation): boolean {
  if ("lost" in when) return silence !== null;
  return isAlive && shown.some((fact) => isOf(when, fact));
}

function isOf(when: Exclude<When, { lost: true }>, fact: Fact): boolean {
  if (when.place !== undefined && when.place !== fact.place) return false;
  if ("ready" in when) return fact.kind === "ready" && when.ready.some((stage) => stage === fact.stage);
  return (
    fact.kind === "warning" &&
    (when.warning === "any" || when.warning === fact.rule) &&
    (when.urgency === undefined || when.urgency === fact.urgency)
  );
}

function driveOf({ line, command }: OutputSettings): OpenDrive {
  if (line !== undefined) return (gone) => new Line(line, gone);
  if (command !== undefined) return () => new Command(command);
  throw new RangeError("an output needs a line or a command");
}
