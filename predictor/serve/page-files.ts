/** The pages' scripts, styles and texts, which never change under one name: packed by the build, to whoever takes them so. */
import { existsSync } from "node:fs";
import { extname, join } from "node:path";
import express, { type Request, type RequestHandler, type Response } from "express";

const packing = ".gz";

/** Serves the files of a folder; from `name.gz` beside it where there is one and the client takes gzip. What is not there, or asked for otherwise than to get it, is left to the next handler. */
export function pageFiles(folder: string): RequestHandler {
  const serve = express.static(folder, {
    immutable: true,
    maxAge: "1y",
    index: false,
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
    const isPacked = isGot(request) && /^\/[\w.-]+$/.test(packed) && existsSync(join(folder, packed));
    if (isPacked && request.acceptsEncodings("gzip", "identity") === "gzip") request.url = packed;
    serve(request, response, next);
  };
}

const isGot = ({ method }: Request): boolean => method === "GET" || method === "HEAD";
