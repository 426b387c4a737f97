/** A coat as the desk's addresses name it: by its id, at a head office after its shop's, as in "north/c-12". */
import type { CoatView } from "../../predictor/serve/api.ts";
import type { HeldCoatFile } from "../../predictor/serve/office-api.ts";
import type { CoatFile } from "../../predictor/serve/proof-api.ts";
import type { RailCoat } from "../parts/rail-coat.ts";

export interface CoatRef {
  /** Null in a shop's own log. */
  shop: string | null;
  coat: string;
}

/** A coat's file as the pages show it: of their own shop, or as another one told it. */
export type ShownFile = Omit<CoatFile, "coat"> & {
  coat: Omit<CoatView, "prediction"> & Pick<RailCoat, "prediction">;
  held?: HeldCoatFile["held"];
};

const part = encodeURIComponent;

export const refText = ({ shop, coat }: CoatRef): string => (shop === null ? coat : `${shop}/${coat}`);

export function refOf(text: string): CoatRef {
  const [first = "", second] = text.split("/");
  return second === undefined ? { shop: null, coat: first } : { shop: first, coat: second };
}

export const apiOf = ({ shop, coat }: CoatRef): string =>
  shop === null ? `/api/coats/${part(coat)}` : `/api/shops/${part(shop)}/coats/${part(coat)}`;

export const pageOf = ({ shop, coat }: CoatRef): string =>
  shop === null ? `/log/${part(coat)}` : `/log/${part(shop)}/${part(coat)}`;
