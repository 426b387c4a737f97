/**
 * Lines published with public projects and in the kernel's documentation; the check of each was computed again apart
 * from this program. Temperatures are the kernel's own t=, in °C.
 */
export const publishedProbeTexts: [what: string, text: string, result: number | string][] = [
  ["a room", "9d 01 4b 46 7f ff 03 10 57 : crc=57 YES\n9d 01 4b 46 7f ff 03 10 57 t=25812\n", 25.812],
  ["an unplugged probe", "ff ff ff ff ff ff ff ff ff : crc=c9 NO\n46 01 4b 46 7f ff 0a 10 85 t=-62\n", "unplugged"],
  ["another one", "ff ff ff ff ff ff ff ff ff : crc=c9 NO\n53 01 4b 46 7f ff 0d 10 e9 t=-62\n", "unplugged"],
  ["power-on", "50 05 4b 46 7f ff 0c 10 1c : crc=1c YES\n50 05 4b 46 7f ff 0c 10 1c t=85000\n", "power-on value"],
  ["23 °C", "70 01 4b 46 7f ff 10 10 e1 : crc=e1 YES\n70 01 4b 46 7f ff 10 10 e1 t=23000\n", 23],
  ["22 °C", "60 01 4b 46 7f ff 10 10 b5 : crc=b5 YES\n60 01 4b 46 7f ff 10 10 b5 t=22000\n", 22],
  ["27.5 °C", "b8 01 4b 46 7f ff 08 10 8a : crc=8a YES\nb8 01 4b 46 7f ff 08 10 8a t=27500\n", 27.5],
  ["plausible, NO", "b8 01 4b 46 7f ff 08 10 8a : crc=00 NO\nb8 01 4b 46 7f ff 08 10 8a t=27500\n", "wrong check"],
  ["26.937 °C", "af 01 4b 46 7f ff 01 10 bc : crc=bc YES\naf 01 4b 46 7f ff 01 10 bc t=26937\n", 26.937],
  ["23.125 °C", "72 01 4b 46 7f ff 0e 10 57 : crc=57 YES\n72 01 4b 46 7f ff 0e 10 57 t=23125\n", 23.125],
  ["a copied chip", "33 01 55 05 7f a5 a5 66 4b : crc=4b YES\n33 01 55 05 7f a5 a5 66 4b t=19187\n", 19.187],
  ["its wrong check", "33 01 55 05 7f a5 a5 66 00 : crc=00 NO\n33 01 55 05 7f a5 a5 66 00 t=19187\n", "wrong check"],
  // The older chip counts in half degrees and a remainder: its bytes mean another temperature, the kernel's t= is right.
  ["a 9-bit chip", "2a 00 4b 46 ff ff 0e 10 84 : crc=84 YES\n2a 00 4b 46 ff ff 0e 10 84 t=20875\n", 20.875],
  ["20.687 °C", "4b 01 4b 46 7f ff 05 10 e1 : crc=e1 YES\n4b 01 4b 46 7f ff 05 10 e1 t=20687\n", 20.687],
  ["a short circuit", "00 00 00 00 00 00 00 00 00 : crc=00 YES\n00 00 00 00 00 00 00 00 00 t=0\n", "shorted"],
  ["no power", "ff 07 4b 46 7f ff 01 10 2f : crc=2f YES\nff 07 4b 46 7f ff 01 10 2f t=127937\n", "too little power"],
  ["eight bytes", "4b 01 4b 7f ff 05 10 e1 : crc=e1 YES\n4b 01 4b 7f ff 05 10 e1 t=20687\n", "cut line"],
  // Made from the value FF5E = -10.125 °C of the chip's data sheet.
  ["frost", "5e ff 4b 46 7f ff 02 10 b6 : crc=b6 YES\n5e ff 4b 46 7f ff 02 10 b6 t=-10125\n", -10.125],
];
