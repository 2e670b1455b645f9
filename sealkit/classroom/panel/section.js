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
    let angle = 25;
    const svg = () => box.querySelector("svg");
    const turn = () => model.get("turn");
    const put = () => {
      if (!svg()) return;
      svg().setCurrentTime(((angle + 180) / 360) * turn());
      if (playing) svg().unpauseAnimations(); else svg().pauseAnimations();
    };
    const draw = () => { box.innerHTML = model.get("value"); put(); };
    const follow = () => {
      const at = model.get("at");
      button.hidden = at != null;
      if (at != null) { playing = false; angle = at; put(); }
    };
    const words = () => {
      button.textContent = playing ? "❚❚" : "▶";
      button.setAttribute("aria-label", playing ? "Stop the crank" : "Turn the crank");
      const side = angle < 0 ? "before" : "after";
      told.textContent = ` ${Math.round(Math.abs(angle))}° ${side} top dead centre. ${model.get("below")}`;
    };
    button.onclick = () => { playing = !playing; put(); words(); };
    line.append(button, told);
    let frame = 0, shown = 0;
    const tick = (now) => {
      if (playing && svg()) {
        angle = ((svg().getCurrentTime() % turn()) / turn()) * 360 - 180;
        if (now - shown > 100) { shown = now; words(); }
      }
      frame = requestAnimationFrame(tick);
    };
    const told_anew = () => words();
    model.on("change:value", draw);
    model.on("change:at", () => { follow(); words(); });
    model.on("change:below", told_anew);
    draw(); follow(); words();
    frame = requestAnimationFrame(tick);
    return () => cancelAnimationFrame(frame);
  }
};
