// Put into a page before its scripts: how long until a move, and until its verdict, is painted.
(() => {
  const probe = { verdict: [], moved: [] };
  window.probe = probe;
  let pressed = false;
  let last = 0;
  const asked = new Map();
  const whenPainted = (run) => requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = run; // the task after the frame was drawn
    channel.port2.postMessage(null);
  });
  addEventListener("pointerdown", () => { pressed = true; }, true);
  addEventListener("pointerup", () => { pressed = false; }, true);
  addEventListener("pointermove", (event) => {
    if (!pressed) return;
    last = event.timeStamp;
    const begun = last;
    whenPainted(() => probe.moved.push(performance.now() - begun));
  }, true);
  const send = WebSocket.prototype.send;
  WebSocket.prototype.send = function (data) {
    const { seq, id } = JSON.parse(data);
    if (id && pressed) asked.set(seq, last);
    if (!this.probed) {
      this.probed = true;
      this.addEventListener("message", (event) => {
        const begun = asked.get(JSON.parse(event.data).seq);
        if (begun !== undefined) whenPainted(() => probe.verdict.push(performance.now() - begun));
      });
    }
    return send.call(this, data);
  };
})();
