/** A question that is answered with a file for a browser to keep. */
import { z } from "zod";
import { type Asked, type Declared, type Route, route, type Shape } from "./route.ts";

const fileSchema = z.object({ name: z.string(), content: z.string() });

/** Declares it, with the file's media type; the handler gives the file's name and content. */
export function download<P extends Shape | undefined = undefined, Q extends Shape | undefined = undefined>({
  fileType,
  ...declared
}: Omit<Declared<P, Q, undefined, typeof fileSchema, Asked>, "response"> & { fileType: string }): Route {
  return {
    ...route({ ...declared, response: fileSchema }),
    file: {
      type: fileType,
      send: (response, answer) => {
        const { name, content } = fileSchema.parse(answer);
        response.attachment(name).set("Cache-Control", "no-cache").type(fileType).send(content);
      },
    },
  };
}
