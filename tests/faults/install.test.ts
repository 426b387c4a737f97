/** What install.sh says and refuses, and whether its units are well-formed. hardware/try-in-root.sh tries the rest in a Debian root. */
import { spawnSync } from "node:child_process";
import { chmodSync, cpSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { FolderMachine, hardware, has } from "./folder-machine.ts";

const isDebian = has("dpkg") && has("apt-get") && has("systemctl");

let machine: FolderMachine;
beforeEach(() => {
  machine = new FolderMachine();
});
afterEach(() => machine.stop());

const install = (...args: string[]) => machine.run(join(hardware, "install.sh"), args);

const scripts = readdirSync(hardware).filter((name) => name.endsWith(".sh") || name === "coatclock");

it.each(scripts)("%s is well-formed bash", (name) => {
  expect(spawnSync("bash", ["-n", join(hardware, name)], { encoding: "utf8" })).toMatchObject({
    status: 0,
    stderr: "",
  });
});

describe.skipIf(!isDebian)("install.sh on a Debian-like machine (skipped on others)", () => {
  it("says with --check what it would do, and does nothing", () => {
    const before = readdirSync(machine.at());
    const { status, stdout } = install("--check", "--shop", join(hardware, "../docs/examples/two-booths.yaml"));
    expect(stdout).toMatch(/Roles: predictor\./);
    expect(stdout).toMatch(/Build release \d+\.\d+\.\d+\+[0-9a-f]{10} in /);
    expect(stdout).toMatch(/Copy .*two-booths\.yaml to .*\/etc\/coatclock\/shop\.yaml/);
    expect(stdout).toMatch(/Start coatclock\.service/);
    expect(status).toBe(0);
    expect(readdirSync(machine.at())).toEqual(before);
  });

  it("does for a collector alone what a collector needs", () => {
    machine.write("shop.yaml", "shop: s\n");
    const { stdout, status } = install(
      "--check",
      "--role",
      "collector",
      "--collector",
      "yard-pi",
      "--shop",
      machine.at("shop.yaml"),
    );
    expect(stdout).toMatch(/Start coatclock-collector@yard-pi\.service/);
    expect(stdout).not.toMatch(/coatclock\.service|gpiod|chromium/);
    expect(status).toBe(0);
  });

  it("builds nothing and needs no Node on a machine that is a wall only", () => {
    const { stdout, status } = install(
      "--check",
      "--role",
      "wall",
      "--wall",
      "http://predictor.example:8080/wall/booth",
    );
    expect(stdout).toMatch(/show http:\/\/predictor\.example:8080\/wall\/booth on the screen/);
    expect(stdout).not.toMatch(/nodejs|Build release/);
    expect(status).toBe(0);
  });

  it("keeps the shop file that is there", () => {
    machine.write("etc/coatclock/shop.yaml", "shop: mine\n");
    expect(install("--check").stdout).toMatch(/Keep .*shop\.yaml/);
  });

  it("refuses a system whose Node is too old, with the remedy", () => {
    machine.program("apt-cache", "echo '  Candidate: 18.20.4+dfsg-1~deb12u1'\n");
    machine.program("old-node", "echo v18.20.4\n");
    const { status, stderr } = machine.run(join(hardware, "install.sh"), ["--check"], {
      COATCLOCK_NODE: machine.at("bin/old-node"),
    });
    expect(stderr).toMatch(/needs Node 20\.19 or newer, and this system offers 18\.20\.4/);
    expect(stderr).toMatch(/Debian 13 \(trixie\)/);
    expect(status).toBe(2);
  });

  it.each([
    ["another kind of system", [], { "etc/os-release": "ID=fedora\n" }, /not Debian or made from it/],
    [
      "a 32-bit system",
      [],
      { "bin/dpkg": "#!/bin/sh\necho armhf\n" },
      /built for armhf, and Coatclock needs a 64-bit one/,
    ],
    ["an unknown role", ["--role", "king"], {}, /--role king: expected predictor, collector, lamp or wall/],
    ["a collector without a name", ["--role", "collector"], {}, /--role collector needs --collector NAME/],
    ["a collector without a shop file", ["--role", "collector", "--collector", "a"], {}, /needs the shop file/],
    ["a name that systemd would read otherwise", ["--role", "lamp", "--lamp", "a/b"], {}, /no name of the shop file/],
    ["a wall of a place without a predictor", ["--role", "wall", "--wall", "booth"], {}, /say the whole address/],
    ["a shop file that is not there", ["--shop", "/nowhere.yaml"], {}, /can't be read/],
    ["a copy to a relative folder", ["--backup-to", "stick"], {}, /expected a path from \//],
    ["an unknown option", ["--quick"], {}, /--quick is not known/],
  ])("refuses %s", (_what, args, files, words) => {
    for (const [file, text] of Object.entries(files)) {
      machine.write(file, text);
      chmodSync(machine.at(file), 0o755);
    }
    const { status, stderr, stdout } = install("--check", ...args);
    expect(stderr).toMatch(words);
    expect(status).toBe(2);
    expect(stdout).not.toMatch(/Nothing is done/);
  });
});

it.skipIf(!has("systemd-analyze"))(
  "systemd finds nothing wrong with the units (skipped where there is no systemd-analyze)",
  () => {
    const folder = machine.at("units");
    cpSync(join(hardware, "units"), folder, { recursive: true });
    const units = readdirSync(folder).filter((name) => /\.(service|timer)$/.test(name));
    // Where the programs are elsewhere than on a Pi, that is no fault of the units.
    for (const name of units) {
      const text = readFileSync(join(folder, name), "utf8");
      writeFileSync(join(folder, name), text.replaceAll(/^ExecStart=\S+/gm, "ExecStart=/bin/sh"));
    }
    for (const unit of ["coatclock.service", "coatclock-collector@.service", "coatclock-lamp@.service"]) {
      mkdirSync(join(folder, `${unit}.d`));
      cpSync(join(folder, "hardened.conf"), join(folder, `${unit}.d/hardened.conf`));
    }
    const { stderr } = spawnSync("systemd-analyze", ["verify", ...units.map((name) => join(folder, name))], {
      encoding: "utf8",
      env: { ...process.env, SYSTEMD_UNIT_PATH: `${folder}:` },
    });
    expect(stderr.split("\n").filter((line) => /coatclock/.test(line))).toEqual([]);
  },
);
