/** Requests as no page of ours sends them: the API's own routes with what does not belong there, and bytes that are no HTTP. */
import { gzipSync } from "node:zlib";
import fc from "fast-check";

export interface StrangeRequest {
  method: string;
  path: string;
  headers: Record<string, string>;
  body: Buffer;
}

/** What an OpenAPI description says of its routes. */
export type DescribedPaths = Record<string, Record<string, object>>;

const methods = ["GET", "POST", "PATCH", "PUT", "DELETE", "HEAD", "OPTIONS", "PROPFIND", "TRACE"];
const strange = [
  ...["__proto__", "constructor", "toString", "prototype", "hasOwnProperty"],
  ...["", "null", "undefined", "NaN", "-1", "1e309", "0x10", "9".repeat(400), "a".repeat(4000)],
  ...["booth", "none", "demo-clear", "2026-03-02T08:00:00Z", "9999-99-99", "+275760-09-14T00:00:00Z"],
  ...[
    "'",
    '"',
    "<script>",
    "$where",
    "{{7*7}}",
    "; DROP TABLE cars",
    "%s%n",
    "\u0000",
    "\r\nX-A: b",
    "\ud83d\ude97",
    "\u202e",
  ],
];
/** As they stand in an address: some are no encoding of anything. */
const inAddress = fc.oneof(
  fc.constantFrom(...strange).map((text) => encodeURIComponent(text)),
  fc.constantFrom(
    "%",
    "%00",
    "%ff",
    "%E0%A4%A",
    "..",
    "%2e%2e%2f",
    "..%5c",
    "%2f",
    "//",
    ";a=b",
    "*",
    "[]",
    "{car}",
    "~",
  ),
);
const numbers = [0, -0, -1, 1e-300, 1e308, 2 ** 53, 1.5, 4_294_967_296];
const value: fc.Arbitrary<unknown> = fc.oneof(
  fc.constantFrom<unknown>(...strange, ...numbers, null, true, [], {}),
  fc.jsonValue({ maxDepth: 3 }),
  fc.array(fc.constantFrom(...strange), { maxLength: 4 }),
);

const noJson = [
  "{",
  "[",
  '{"a":}',
  "nul",
  "NaN",
  "'a'",
  "\u0000",
  '{"a":1}{"b":2}',
  '"\\ud800"',
  "\ufeff{}",
  "1e999",
  '"a',
];
const deep = [100, 20_000].flatMap((depth) => [
  "[".repeat(depth) + "]".repeat(depth),
  `${'{"a":'.repeat(depth)}1${"}".repeat(depth)}`,
  "[".repeat(depth),
]);
const polluting = [
  '{"__proto__":{"polluted":1}}',
  '{"constructor":{"prototype":{"polluted":1}}}',
  '[{"__proto__":null}]',
];

function bodies(keys: readonly string[]): fc.Arbitrary<Buffer> {
  const key = fc.oneof(
    { weight: 5, arbitrary: fc.constantFrom(...keys) },
    fc.constantFrom("__proto__", "constructor", ""),
  );
  const pairs = fc.array(fc.tuple(key, value), { maxLength: 6 });
  const object = pairs.map(
    (all) => `{${all.map(([name, what]) => `${JSON.stringify(name)}:${JSON.stringify(what)}`).join(",")}}`,
  );
  const text = fc.oneof(
    { weight: 6, arbitrary: object },
    value.map((each) => JSON.stringify(each)),
    fc.constantFrom(...noJson, ...polluting, ...deep),
  );
  return fc.oneof(
    { weight: 8, arbitrary: text.map((each) => Buffer.from(each)) },
    text.map((each) => Buffer.from(each, "utf16le")),
    text.map((each) => gzipSync(each)),
    fc.uint8Array({ maxLength: 200 }).map((bytes) => Buffer.from(bytes)),
    fc.constant(gzipSync(Buffer.alloc(2_000_000, " "))),
  );
}

const header = fc.oneof(
  fc.tuple(
    fc.constant("content-type"),
    fc.constantFrom(
      ...["application/json; charset=utf-16", "application/json; charset=x", "application/json;", "text/plain", "json"],
      ...["application/x-www-form-urlencoded", "multipart/form-data; boundary=a", "application/json, text/html", "/"],
    ),
  ),
  fc.tuple(fc.constant("content-encoding"), fc.constantFrom("gzip", "br", "deflate", "x", "gzip, gzip", "identity")),
  fc.tuple(fc.constant("idempotency-key"), fc.constantFrom("", "a", "a".repeat(64), "__proto__", "a b c d e f g h i")),
  fc.tuple(
    fc.constant("cookie"),
    fc.constantFrom("coatclock=", `coatclock=${"a".repeat(43)}`, "=;=;", "coatclock=%ff", ";"),
  ),
  fc.tuple(fc.constant("origin"), fc.constantFrom("null", "", "http://rebound.example", "http://[", "file://")),
  fc.tuple(fc.constant("sec-fetch-site"), fc.constantFrom("cross-site", "none", "same-origin", "x")),
  fc.tuple(
    fc.constant("host"),
    fc.constantFrom("rebound.example", "", "localhost:99999999", "[::1", "a b", "localhost"),
  ),
  fc.tuple(fc.constant("x-forwarded-for"), fc.constantFrom("no address", ",,,", "127.0.0.1", "::", "1".repeat(2000))),
  fc.tuple(fc.constant("x-forwarded-host"), fc.constantFrom("rebound.example", ",", "localhost", "http://a/")),
  fc.tuple(fc.constant("x-forwarded-proto"), fc.constantFrom("https", "javascript", ",")),
  fc.tuple(fc.constant("range"), fc.constantFrom("bytes=0-", "bytes=-1", "bytes=9-1", "lines=1", "bytes=0-0,0-0,0-0")),
  fc.tuple(
    fc.constantFrom("if-none-match", "if-modified-since", "accept", "accept-language"),
    fc.constantFrom("*", "", '"', "x"),
  ),
  fc.tuple(fc.constant("accept-encoding"), fc.constantFrom("br;q=x", "*;q=0", "")),
);

/** Requests to the routes described, and beside them. `cookies` are of people who are signed in. */
export function strangeRequest(paths: DescribedPaths, cookies: readonly string[]): fc.Arbitrary<StrangeRequest> {
  const routes = Object.entries(paths).flatMap(([path, of]) => Object.keys(of).map((method) => ({ path, method })));
  const keys = [
    ...new Set(
      [...JSON.stringify(paths).matchAll(/"properties":\{"(\w+)"|,"(\w+)":\{"type"/g)].map(
        (found) => found[1] ?? found[2] ?? "",
      ),
    ),
  ];
  const address = fc
    .tuple(
      fc.oneof(
        { weight: 8, arbitrary: fc.constantFrom(...routes) },
        fc
          .constantFrom("/", "/log", "/assets/{file}", "/wall/{place}", "/{any}", "/metrics")
          .map((path) => ({ path, method: "get" })),
      ),
      fc.array(inAddress, { minLength: 3, maxLength: 3 }),
      fc.array(
        fc.tuple(
          fc.oneof(fc.constantFrom("from", "to", "points", "page", "place", "language", "quantity"), inAddress),
          inAddress,
        ),
        { maxLength: 4 },
      ),
    )
    .map(([{ path, method }, fill, query]) => {
      const filled = path.replaceAll(/\{\w+\}/g, () => fill.pop() ?? "x");
      return {
        method: method.toUpperCase(),
        path: [filled, query.map((pair) => pair.join("=")).join("&")].filter(Boolean).join("?"),
      };
    });
  return fc
    .record({
      address,
      otherMethod: fc.option(fc.constantFrom(...methods), { freq: 5 }),
      headers: fc.array(header, { maxLength: 3 }),
      body: bodies(keys),
      cookie: fc.constantFrom("", ...cookies),
    })
    .map(({ address: { method, path }, otherMethod, headers, body, cookie }) => ({
      method: otherMethod ?? method,
      path,
      // Signing out would end what the others are tried with.
      headers: {
        "content-type": "application/json",
        ...(cookie === "" || path.startsWith("/api/sign-out") ? {} : { cookie }),
        ...Object.fromEntries(headers),
      },
      body: (otherMethod ?? method) === "GET" ? Buffer.alloc(0) : body,
    }));
}

const plain =
  "POST /api/cars HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 2\r\n\r\n{}";
const noRequests = [
  "",
  "\r\n\r\n\r\n",
  "GET\r\n\r\n",
  "GET / HTTP/9.9\r\n\r\n",
  "GET / HTTP/1.1\r\n\r\n",
  "GET / HTTP/1.0\r\n\r\n",
  "CONNECT elsewhere.example:443 HTTP/1.1\r\nHost: localhost\r\n\r\n",
  "GET http://elsewhere.example/ HTTP/1.1\r\nHost: localhost\r\n\r\n",
  "GET / HTTP/1.1\r\nHost: localhost\r\nHost: rebound.example\r\n\r\n",
  "GET / HTTP/1.1\r\nHost: localhost\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n\r\n",
  "OPTIONS * HTTP/1.1\r\nHost: localhost\r\n\r\n",
  "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
  "\u0016\u0003\u0001\u0002\u0000\u0001\u0000\u0001\u00fc\u0003\u0003",
  "POST /api/cars HTTP/1.1\r\nHost: localhost\r\nContent-Length: -1\r\n\r\n",
  "POST /api/cars HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\n{}",
  "POST /api/cars HTTP/1.1\r\nHost: localhost\r\nContent-Length: 9999999999999999999\r\n\r\n{}",
  "POST /api/cars HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\nContent-Length: 2\r\n\r\n0\r\n\r\n",
  "POST /api/cars HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\nffffffffffffffff\r\n{}",
  "POST /api/cars HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: x\r\n\r\n",
  "POST /api/cars HTTP/1.1\r\nHost: localhost\r\nExpect: a miracle\r\n\r\n",
  "GET / HTTP/1.1\r\nHost: localhost\r\n folded: x\r\n\r\n",
  "GET / HTTP/1.1\nHost: localhost\n\n",
  `GET /${"a".repeat(20_000)} HTTP/1.1\r\nHost: localhost\r\n\r\n`,
  `GET / HTTP/1.1\r\n${"X-A: b\r\n".repeat(3000)}\r\n`,
];

/** Bytes for a bare connection: known attempts, noise, and a good request with some of its bytes changed. */
export const strangeBytes: fc.Arbitrary<Buffer> = fc.oneof(
  fc.constantFrom(...noRequests).map((text) => Buffer.from(text, "latin1")),
  fc.uint8Array({ maxLength: 300 }).map((bytes) => Buffer.from(bytes)),
  fc.array(fc.tuple(fc.nat(plain.length - 1), fc.nat(255)), { minLength: 1, maxLength: 4 }).map((changes) => {
    const bytes = Buffer.from(plain, "latin1");
    for (const [at, byte] of changes) bytes[at] = byte;
    return bytes;
  }),
);
