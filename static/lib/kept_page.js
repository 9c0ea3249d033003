/**
 * Keeping a page on the device, so that it opens without a link: by a worker of its own, which
 * browsers allow under https and at the computer's own addresses only.
 */

const FILES = /^\/static\/(v-[0-9a-f]{12})\//;

/**
 * Ask that the page is kept, now and whenever another version of the worker takes over.
 *
 * @param {string} worker its address @param {string} version of the page's files
 * @param {(isKept: boolean) => void} told
 * @param {ServiceWorkerContainer | undefined} container
 */
export async function keepPage(worker, version, told, container = Reflect.get(navigator, "serviceWorker")) {
  if (!container) return told(false);
  const ask = () => {
    const channel = new MessageChannel();
    channel.port1.onmessage = ({ data }) => told(data);
    container.controller?.postMessage({ page: location.href.replace(/#.*$/, ""), files: filesOf() }, [channel.port2]);
  };
  container.addEventListener("controllerchange", ask);
  try {
    await container.register(`${worker}?${version}`, { scope: location.pathname });
    ask();
  } catch {
    told(false); // forbidden, or no link
  }
}

/** The addresses of all that the page was made of. @param {PerformanceEntryList} entries */
export function filesOf(entries = performance.getEntriesByType("resource")) {
  const paths = entries.map(({ name }) => new URL(name)).filter(({ origin }) => origin === location.origin);
  return [...new Set(paths.map(({ pathname }) => pathname).filter((path) => FILES.test(path)))];
}

/** The version in the address of a script. @param {string} address */
export function versionOf(address) {
  return FILES.exec(new URL(address).pathname)?.[1] ?? "";
}
