/** Keeps the pages themselves on the phone, where the browser allows it: behind HTTPS only. */

/** Over plain HTTP there is none: a page that is open goes on, one that is closed needs the network to open again. */
export function keepPages(): void {
  if (!isSecureContext || !("serviceWorker" in navigator)) return;
  // Without it everything works but opening a page without a network.
  navigator.serviceWorker.register("/service-worker.js", { updateViaCache: "none" }).catch(() => undefined);
}
