/** What safe promises: so many of ten first checks from then on find it ready. */
export const promised = 0.9;
