/** The page's calls of the server. */

export class Server {
  /** @param {HTMLElement} desk with the addresses in its data */
  constructor(desk) {
    const data = desk.dataset;
    this.urls = {
      live: data.live, state: data.state, place: data.placeUrl, lock: data.lockUrl, accept: data.acceptUrl,
      module: data.moduleUrl, arrange: data.arrangeUrl, stop: data.stopUrl, take: data.takeUrl, leave: data.leaveUrl,
      page: data.pageUrl,
    };
  }

  /** @param {string} url @param {object} body @returns {Promise<{status: number, body: any}>} */
  async post(url, body) {
    const headers = { "Content-Type": "application/json", Accept: "application/json" };
    return answered(await fetch(url, { method: "POST", headers, body: JSON.stringify(body) }));
  }

  /** The newest state; status 204 where it is not newer than a revision. @param {string} view @param {number} [than] */
  async newest(view, than = 0) {
    return answered(await fetch(`${this.urls.state}?view=${view}&than=${than}`));
  }

  /** A module as it would be drawn; null where the server cannot say. @param {object} wanted */
  async drawn(wanted) {
    try {
      const { status, body } = await this.post(this.urls.module, wanted);
      return status === 200 ? body : null;
    } catch {
      return null;
    }
  }

  socket() {
    const url = new URL(this.urls.live, location.href);
    url.protocol = url.protocol === "https:" ? "wss:" : "ws:";
    return new WebSocket(url);
  }
}

async function answered(response) {
  const isJson = response.headers.get("content-type")?.includes("json");
  return { status: response.status, body: isJson ? await response.json() : null };
}
