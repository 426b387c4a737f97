/** A small file system in memory that can be full and read-only; a plain folder where mounting is not allowed. */
import { spawnSync } from "node:child_process";
import { mkdirSync, statfsSync } from "node:fs";

const sizeBytes = 4 * 1024 ** 3;
const roomLeftBytes = 4096;

export class Disk {
  readonly folder: string;
  readonly isMounted: boolean;

  constructor(folder: string) {
    this.folder = folder;
    mkdirSync(folder, { recursive: true });
    this.isMounted = mount(["-t", "tmpfs", "-o", `size=${sizeBytes}`, "tmpfs", folder]);
  }

  /** It becomes no larger than what is on it. */
  fill(): void {
    const { blocks, bfree, bsize } = statfsSync(this.folder);
    this.#remount(`size=${(blocks - bfree) * bsize + roomLeftBytes}`);
  }

  free(): void {
    this.#remount(`size=${sizeBytes}`);
  }

  /** Nothing may have a file open there. */
  protect(): void {
    this.#remount("ro");
  }

  unprotect(): void {
    this.#remount("rw");
  }

  unmount(): void {
    if (this.isMounted) spawnSync("umount", [this.folder]);
  }

  #remount(option: string): void {
    if (this.isMounted && !mount(["-o", `remount,${option}`, this.folder])) {
      throw new Error(`${this.folder} could not be remounted with ${option}`);
    }
  }
}

function mount(args: string[]): boolean {
  return spawnSync("mount", args).status === 0;
}
