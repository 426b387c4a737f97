import { expect, it } from "vitest";
import { Chart } from "./chart.ts";
import { figures } from "./figures.ts";

it.each(Object.entries(figures))("%s draws with a title, its lines and no value that is none", (_name, draw) => {
  const svg = draw();
  expect(svg).toMatch(/^<svg [^>]*role="img"/);
  expect(svg).toMatch(/<title id="title">[^<]*invented[^<]*<\/title><desc id="desc">[^<]+<\/desc>/);
  expect(svg.match(/<polyline /g)?.length).toBeGreaterThan(1);
  expect(svg).not.toMatch(/NaN|Infinity|undefined|null/);
  expect(draw()).toBe(svg);
});

const axis = { label: "x", from: 0, to: 10, ticks: [{ at: 5, text: "5" }] };

it("a chart refuses a point that is no number", () => {
  const chart = new Chart({ title: "t", description: "d", x: axis, y: axis });
  for (const bad of [Number.NaN, Number.POSITIVE_INFINITY])
    expect(() => chart.dot([bad, 1], "blue")).toThrow(RangeError);
});
it("a chart keeps text as text, signs of mark-up too", () => {
  const chart = new Chart({ title: "a < b & c", description: "d", x: axis, y: axis });
  chart.text([5, 5], "1 < 2");
  expect(chart.toString()).toContain('<title id="title">a &lt; b &amp; c</title>');
  expect(chart.toString()).toMatch(/<text [^>]*>1 &lt; 2<\/text>/);
});
it("a chart puts a point where its scale says", () => {
  const chart = new Chart({ title: "t", description: "d", x: axis, y: { ...axis, from: 1, to: 100, scale: Math.log } });
  chart.dot([5, 10], "blue");
  expect(chart.toString()).toContain('cx="358" cy="174"');
});
