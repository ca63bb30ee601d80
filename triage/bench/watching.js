// Notes how long each Enter takes, from the key's own time stamp to the second frame after the
// picture can be painted: the first of the two is the one that shows it. So a figure holds up to one
// frame (17 ms) too much.
() => {
  window.waited = [];
  const pictures = () => [...document.querySelectorAll("#pictures img")];
  const shown = () => pictures().filter((one) => one.checkVisibility());
  const frame = () => new Promise(requestAnimationFrame);
  document.addEventListener("keydown", async (event) => {
    if (event.key !== "Enter") return;
    const before = shown()[0]?.src;
    const there = (all) => all.length && all[0].src !== before && all.every((one) => one.complete);
    while (!there(shown())) await frame();
    await Promise.all(shown().map((one) => one.decode()));
    await frame();
    await frame();
    window.waited.push(performance.now() - event.timeStamp);
  }, true);
}
