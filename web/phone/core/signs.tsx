/** Small drawings of the pages' frame. */

export function ArrowBack() {
  return (
    <svg class="shape" viewBox="0 0 32 32" aria-hidden="true">
      <path class="stroke" d="M28 16H6M15 6 5 16l10 10" />
    </svg>
  );
}

/** Filled when somebody is signed in. */
export function PersonSign({ isIn }: { isIn: boolean }) {
  return (
    <svg class="shape" viewBox="0 0 32 32" aria-hidden="true">
      <path class={isIn ? "solid" : "stroke"} d="M16 3a6 6 0 0 1 0 12a6 6 0 0 1 0-12ZM4 29v-3q0-7 7-7h10q7 0 7 7v3Z" />
    </svg>
  );
}
