/** Routes by which certificates are issued, and taken as file or as pages. */
import { z } from "zod";
import type { Certificates } from "../proof/certificates.ts";
import { download, entry, type Route } from "./route.ts";

export interface CertificateRouteParts {
  certificates: Certificates;
}

const digest = z.string().regex(/^[0-9a-f]{64}$/, "expected the 64 digits 0-9 a-f of a certificate's digest");
const ofDigest = z.object({ digest });
const issued = z.object({ digest });

export function certificateRoutes({ certificates }: CertificateRouteParts): Route[] {
  return [
    entry({
      method: "post",
      path: "/api/coats/{coat}/certificates",
      summary: "Issues a certificate of a coat as it stands: its file is kept, and its digest recorded",
      roles: ["quality"],
      params: z.object({ coat: z.string() }),
      response: issued,
      handle: async ({ params, by }) => ({ digest: await certificates.issueForCoat(params.coat, by) }),
    }),
    entry({
      method: "post",
      path: "/api/cars/{car}/certificates",
      summary: "Issues one certificate of all coats of a car that count",
      roles: ["quality"],
      params: z.object({ car: z.string() }),
      response: issued,
      handle: async ({ params, by }) => ({ digest: await certificates.issueForCar(params.car, by) }),
    }),
    download({
      path: "/api/certificates/{digest}/file",
      summary: "The file of a certificate, byte for byte as it was issued",
      params: ofDigest,
      mediaType: "application/json",
      handle: ({ params }) => ({
        name: `${certificates.nameOf(params.digest)}.json`,
        bytes: certificates.file(params.digest),
      }),
    }),
    download({
      path: "/api/certificates/{digest}/print",
      summary: "The same as pages to print, in the shop's language and units",
      params: ofDigest,
      mediaType: "application/pdf",
      handle: async ({ params }) => ({
        name: `${certificates.nameOf(params.digest)}.pdf`,
        bytes: await certificates.print(params.digest),
      }),
    }),
  ];
}
