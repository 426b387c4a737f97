import { describe, expect, it } from "vitest";
import { ownHosts } from "./host-names.ts";

const isOwn = ownHosts(
  { address: "https://Paint.Shop.example:8443", hostNames: ["paint.lan"] },
  "Coatclock.office.example",
);

describe("the names this machine is asked for by", () => {
  it.each([
    ["its own name", "coatclock.office.example:8080"],
    ["its own name as somebody writes it", "COATCLOCK.office.example."],
    ["a name without a dot", "coatclock"],
    ["a name of the local network", "coatclock.local:8080"],
    ["a name of a home network", "pi.home.arpa"],
    ["localhost", "localhost:41234"],
    ["an IPv4 address", "192.168.1.20:8080"],
    ["an IPv6 address", "[fe80::1]:8080"],
    ["the shop file's address, with a port of its own", "paint.shop.example"],
    ["a name the shop file adds", "paint.lan:8080"],
  ])("%s is ours", (_what, host) => {
    expect(isOwn(host)).toBe(true);
  });

  it.each([
    ["a name anybody can own", "rebound.example"],
    ["one that begins like ours", "coatclock.office.example.rebound.example:8080"],
    ["one that begins like an address", "192.168.1.20.rebound.example"],
    ["one that ends like a private one, in another domain", "coatclock.local.rebound.example"],
    ["one whose last letters are those of a private one", "notlocal.notinternal.xlocal.example"],
    ["no name", ""],
    ["what is no host", "localhost/../x"],
    ["a name and password before a host", "localhost@rebound.example"],
    ["a host with two ports", "localhost:80:80"],
    ["a name that looks like ours in other letters", "lоcalhost"],
  ])("%s is not", (_what, host) => {
    expect(isOwn(host)).toBe(false);
  });
});
