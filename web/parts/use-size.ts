/** What the layout needs to know of the window and of an element's room. */
import type { RefObject } from "preact";
import { useEffect, useLayoutEffect, useState } from "preact/hooks";

/** The inner width and height of an element in CSS pixels, 0 until they are known. */
export function useSize(element: RefObject<HTMLElement | null>): { width: number; height: number } {
  const [width, setWidth] = useState(0);
  const [height, setHeight] = useState(0);
  useLayoutEffect(() => {
    const observed = element.current;
    if (observed === null) return;
    const measure = () => {
      setWidth(observed.clientWidth);
      setHeight(observed.clientHeight);
    };
    measure();
    const observer = new ResizeObserver(measure);
    observer.observe(observed);
    return () => observer.disconnect();
  }, [element]);
  return { width, height };
}

/** The inner width of an element in CSS pixels, 0 until it is known. */
export const useWidth = (element: RefObject<HTMLElement | null>): number => useSize(element).width;

/** A wall display: wide, lying, large enough to scale every size with its height. board.css and board-coats.css ask the same question. */
const boardQuery = "(min-width: 1100px) and (min-aspect-ratio: 3/2)";

/** CSS pixels for one pixel of a 1920×1080 drawing on a wall display; null on any other screen. */
export function useBoardUnit(): number | null {
  const read = () => (matchMedia(boardQuery).matches ? innerHeight / 1080 : null);
  const [unit, setUnit] = useState(read);
  useEffect(() => {
    const update = () => setUnit(read());
    addEventListener("resize", update);
    return () => removeEventListener("resize", update);
  }, []);
  return unit;
}

/** Shrinks a line of text until it fits its box, never below `least` of its size; runs again when `text` or `width` changes. */
export function useFit(element: RefObject<HTMLElement | null>, text: string, width: number, least: number): void {
  // Text and width are what the measured size depends on.
  useLayoutEffect(() => {
    const fitted = element.current;
    if (fitted === null) return;
    fitted.style.setProperty("--fit", "1");
    const ratio = fitted.clientWidth / fitted.scrollWidth;
    if (ratio < 1) fitted.style.setProperty("--fit", String(Math.max(least, ratio * 0.985)));
  }, [element, text, width, least]);
}
