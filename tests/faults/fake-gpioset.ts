/**
 * A stand-in for GPIO lines where there is no chip: programs named gpioset and gpiodetect, first on PATH. They understand the
 * options of libgpiod 1.6 or 2, refuse all others, let one process hold a line, and write what its level is.
 */
import { chmodSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

/** What `gpioset --version` prints first: 1.6.3 as Debian 12 has it, 2.2.1 as its source has it (tools/tools-common.c). */
const versions = { 1: "gpioset (libgpiod) v1.6.3", 2: "gpioset (libgpiod) v2.2.1" };

const gpioset = `#!/bin/sh
here=$(dirname "$0")
if [ "$1" = --version ]; then cat "$here/version"; exit 0; fi
low=no
case $(cat "$here/version") in
  *v1.*)
    [ "$1" = --mode=signal ] || { echo "gpioset: it would end at once" >&2; exit 1; }
    shift
    [ "$1" = --active-low ] && { low=yes; shift; }
    chip=$1; shift ;;
  *)
    while :; do
      case $1 in
        --active-low) low=yes; shift ;;
        --consumer) shift 2 ;;
        --chip) chip=$2; shift 2 ;;
        *) break ;;
      esac
    done ;;
esac
[ -n "$chip" ] && [ "$chip" != "\${chip#gpiochip}" ] && [ $# = 1 ] || { echo "gpioset: not understood: $*" >&2; exit 1; }
[ -e "$here/refusal" ] && { cat "$here/refusal" >&2; exit 1; }
line=$here/$chip-\${1%=*}
[ -e "$line/holder" ] && kill -0 "$(cat "$line/holder")" 2>/dev/null &&
  { echo "gpioset: error setting the GPIO line values: Device or resource busy" >&2; exit 1; }
mkdir -p "$line"
echo $$ > "$line/holder"
case \${1#*=}$low in 1no | 0yes) level=high ;; 0no | 1yes) level=low ;; *) exit 1 ;; esac
echo $level >> "$line/levels"
trap 'echo released >> "$line/levels"; rm "$line/holder"; exit 0' TERM INT
while :; do sleep 0.02; done
`;

const gpiodetect = `#!/bin/sh
cat "$(dirname "$0")/chips"
`;

export class FakeGpio {
  readonly #folder = mkdtempSync(join(tmpdir(), "coatclock-gpio-"));
  readonly #bin = join(this.#folder, "bin");
  readonly #path = process.env.PATH;

  /** On PATH of what this process starts, until `remove`. */
  constructor(version: 1 | 2, chips: Record<string, string> = { gpiochip0: "pinctrl-test" }) {
    mkdirSync(this.#bin);
    for (const [name, text] of Object.entries({ gpioset, gpiodetect })) {
      writeFileSync(join(this.#bin, name), text);
      chmodSync(join(this.#bin, name), 0o755);
    }
    writeFileSync(join(this.#bin, "version"), `${versions[version]}\n`);
    this.label(chips);
    process.env.PATH = `${this.#bin}:${this.#path}`;
  }

  label(chips: Record<string, string>): void {
    const lines = Object.entries(chips).map(([name, label]) => `${name} [${label}] (54 lines)\n`);
    writeFileSync(join(this.#bin, "chips"), lines.join(""));
  }

  /** Every call now fails with these words; null ends that. */
  refuse(words: string | null): void {
    if (words === null) rmSync(join(this.#bin, "refusal"));
    else writeFileSync(join(this.#bin, "refusal"), `${words}\n`);
  }

  /** `high`, `low` and `released` in the order they came. */
  levels(offset: number, chip = "gpiochip0"): string[] {
    const file = join(this.#bin, `${chip}-${offset}`, "levels");
    return existsSync(file) ? readFileSync(file, "utf8").trim().split("\n") : [];
  }

  level(offset: number, chip?: string): string | undefined {
    return this.levels(offset, chip).at(-1);
  }

  /** Ends the process that holds the line, as the kernel would for want of memory. */
  killHolder(offset: number, chip = "gpiochip0"): void {
    process.kill(this.holder(offset, chip), "SIGKILL");
  }

  holder(offset: number, chip = "gpiochip0"): number {
    return Number(readFileSync(join(this.#bin, `${chip}-${offset}`, "holder"), "utf8"));
  }

  remove(): void {
    process.env.PATH = this.#path;
    rmSync(this.#folder, { recursive: true, force: true });
  }
}
