/** An address that only this machine can open is of no use on a phone. */
export const opensElsewhere = (hostname: string) => !/^(localhost|127(\.\d+){3}|\[::1\])$/.test(hostname);
