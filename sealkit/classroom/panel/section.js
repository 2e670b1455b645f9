// The moving section: its time is the crank angle, 0 s at bottom dead centre before firing.
export default {
  render({ model, el }) {
    el.classList.add("sk-section", "sealkit-drawing");
    const box = document.createElement("div");
    const line = document.createElement("p");
    const button = document.createElement("button");
    const told = document.createElement("span");
    el.append(box, line);
    let playing = !matchMedia("(prefers-reduced-motion: reduce)").matches;
    let angle = 25, seen = true, held = 0, frame = 0, shown = 0;
    const svg = () => box.querySelector("svg");
    const turn = () => model.get("turn");
    const words = () => {
      button.textContent = playing ? "❚❚" : "▶";
      button.setAttribute("aria-label", playing ? "Stop the crank" : "Turn the crank");
      const side = angle < 0 ? "before" : "after";
      told.textContent = ` ${Math.round(Math.abs(angle))}° ${side} top dead centre. ${model.get("below")}`;
    };
    const put = () => {
      cancelAnimationFrame(frame);
      if (!svg()) return;
      svg().setCurrentTime(((angle + 180) / 360) * turn());
      if (!playing || !seen || held) { svg().pauseAnimations(); return; }
      svg().unpauseAnimations();
      frame = requestAnimationFrame(tick);
    };
    const tick = (now) => {
      if (!svg()) return;
      angle = ((svg().getCurrentTime() % turn()) / turn()) * 360 - 180;
      if (now - shown > 100) { shown = now; words(); }
      frame = requestAnimationFrame(tick);
    };
    const draw = () => { box.innerHTML = model.get("value"); put(); };
    const follow = () => {
      const at = model.get("at");
      button.hidden = at != null;
      if (at != null) { playing = false; angle = at; put(); }
    };
    button.onclick = () => { playing = !playing; put(); words(); };
    line.append(button, told);
    // while a slider moves, the crank stands where the head lifts most
    const release = () => { held = 0; put(); };
    const hold = (event) => {
      const slider = event.target.closest?.(".noUi-target");
      if (!playing || !slider || !el.closest(".sealkit-panel")?.contains(slider)) return;
      if (event.type === "pointermove" && !event.buttons) return;
      const moving = held;
      clearTimeout(held);
      held = setTimeout(release, 1500);
      if (!moving) { angle = model.get("most"); put(); words(); }
    };
    const moves = ["keydown", "pointerdown", "pointermove"];
    moves.forEach((kind) => document.addEventListener(kind, hold, true));
    const view = new IntersectionObserver(([one]) => { seen = one.isIntersecting; put(); });
    view.observe(el);
    model.on("change:value", draw);
    model.on("change:at", () => { follow(); words(); });
    model.on("change:below", words);
    draw(); follow(); words();
    return () => {
      cancelAnimationFrame(frame);
      clearTimeout(held);
      view.disconnect();
      moves.forEach((kind) => document.removeEventListener(kind, hold, true));
    };
  }
};
