/**
 * What is worked out when it is opened: fragments that the server sends into folds. After each
 * answer that replaced the page's content its folds are made ready anew; one that was opened
 * before it was ready is worked out now.
 */
export function workOut() {
  const main = document.querySelector("main");
  const htmx = Reflect.get(window, "htmx");
  if (!main || !htmx) return;
  htmx.process(main);
  for (const fold of main.querySelectorAll("details[open][hx-get]")) {
    if (fold.querySelector(".is-waiting")) htmx.trigger(fold, "toggle");
  }
}
