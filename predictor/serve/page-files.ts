/** The pages' scripts, styles and texts, which never change under one name: packed by the build, to whoever takes them so. */
import { existsSync } from "node:fs";
import { extname, join } from "node:path";
import express, { type RequestHandler, type Response } from "express";

const packing = ".gz";

/** Serves the files of a folder; from `name.gz` beside it where there is one and the client takes gzip. 404 for what is not there. */
export function pageFiles(folder: string): RequestHandler {
  const serve = express.static(folder, {
    immutable: true,
    maxAge: "1y",
    index: false,
    fallthrough: false,
    setHeaders: (response: Response, path: string) => {
      response.vary("Accept-Encoding");
      if (!path.endsWith(packing)) return;
      response.type(extname(path.slice(0, -packing.length)));
      response.setHeader("Content-Encoding", "gzip");
    },
  });
  return (request, response, next) => {
    const packed = `${request.path}${packing}`;
    // A name of a file alone: nothing that climbs out of the folder.
    const isPacked = /^\/[\w.-]+$/.test(packed) && existsSync(join(folder, packed));
    if (isPacked && request.acceptsEncodings("gzip", "identity") === "gzip") request.url = packed;
    serve(request, response, next);
  };
}
