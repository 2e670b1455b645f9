// A guess before the chart shows the answer; see `scene.Guess` and `live._Guess`.
export default {
  render({ model, el }) {
    el.classList.add("sk-guess");
    el.innerHTML = "<p></p><div></div><span aria-live='polite'></span>" +
      "<button>Show</button><button>Skip</button>";
    const [asked, inputs, told, show, skip] = el.children;
    const now = document.createElement("b");
    const mark = document.createElement("div");
    mark.className = "sk-mark";
    const panel = () => el.closest(".sealkit-panel");
    const plot = () => panel()?.querySelector(".js-plotly-plot");
    const two = () => model.get("of") === "place";
    const along = () => trace()?.orientation === "h"; // bars along x
    let state = "done", ranges = [];
    // ---------------------------------------------------------------- what the chart has
    const trace = () => plot()?._fullData?.find((t) => t.meta === model.get("curve"));
    const axis = (one) => plot()._fullLayout[trace()[`${one}axis`].replace(one, `${one}axis`)];
    const axes = () => {
      if (!trace() || !plot()._fullLayout) return [];
      return two() ? [axis("x"), axis("y")] : [axis(along() ? "x" : "y")];
    };
    const answer = () => {
      const { x, y } = trace(), of = model.get("of"), all = along() ? x : y;
      if (two()) return [x[0], y[0]];
      return [of === "least" ? Math.min(...all) : of === "most" ? Math.max(...all) : all[Number(of)]];
    };
    const shown = (value) => (Math.abs(value) < 100 ? Number(value.toPrecision(3)) : Math.round(value));
    const number = (value, unit = model.get("unit")) =>
      `${shown(value).toLocaleString("en").replace("-", "−")} ${unit}`;
    // ---------------------------------------------------------------- on the chart
    const hide = () => {
      const curve = model.get("curve"), keys = state === "asking" ? [curve, ...model.get("hides")] : [];
      plot()?.querySelectorAll(".trace, .hm").forEach((one) => {
        const drawn = one.__data__?.[0]?.trace;
        const hidden = keys.includes(drawn?.meta);
        // of upright bars that are asked for, and words on them, the first stays: what the others are judged by
        const each = drawn?.meta === curve && drawn.type === "bar" && drawn.orientation !== "h" ? ".point"
          : drawn?.meta === `${curve} words` ? ".textpoint" : "";
        const parts = each ? [...one.querySelectorAll(each)].slice(1) : [one];
        parts.forEach((part) => { part.style.opacity = hidden ? 0 : ""; });
      });
    };
    const place = () => {
      if (state === "done" || !axes().length) { mark.remove(); return; }
      const at = ranges.map((range) => Number(range.value)), level = axis("x"), upright = axis("y");
      if (mark.parentElement !== plot()) plot().append(mark);
      const top = upright._offset + (along() ? 0 : upright.l2p(at[at.length - 1]));
      // over upright bars it begins behind the first, whose number stays to be read
      const start = trace().type === "bar" ? level.l2p(0.5) : 0;
      const left = level._offset + (two() || along() ? level.l2p(at[0]) : start);
      mark.classList.toggle("sk-spot", two());
      mark.style.cssText = `left:${left}px;top:${top}px;` + (along()
        ? `height:${upright._length}px;border:0;border-left:3px dashed` : `width:${two() ? 0 : level._length - start}px`);
      mark.innerHTML = two() ? "?" : "<span>your guess</span>";
      // beside the chart's title, or else beside the line, clear of all that the chart will say
      if (two()) return;
      const label = mark.firstChild, high = upright._length;
      const said = [...plot().querySelectorAll("text")].map((t) => t.getBoundingClientRect());
      const tries = along() ? [[-22], [high - 20], [0.7 * high], [0.5 * high]]
        : [[upright._offset - top - 22], [-22], [4], [-22, 0.4], [4, 0.4]];
      tries.some(([y, share = 0]) => {
        Object.assign(label.style, { top: `${y}px`, right: `${share * level._length}px` });
        const box = label.getBoundingClientRect();
        return !said.some((t) => t.right > box.left && t.left < box.right && t.top < box.bottom && t.bottom > box.top);
      });
    };
    const drawn = () => { hide(); place(); };
    let seen = null;
    const watch = () => {
      if (!plot()?._fullLayout || seen === plot()) return;
      // who wants an answer to something else
      if (!seen) panel().addEventListener("click", ({ target }) => {
        if (state === "asking" && target.closest(".sk-buttons")) skip.onclick();
      });
      seen = plot();
      seen.on("plotly_afterplot", drawn);
      let held = false;
      const put = (event) => {
        const all = axes(), box = seen.getBoundingClientRect();
        const from = [event.clientX - box.left, event.clientY - box.top];
        if (all.length === 1) from.splice(along() ? 1 : 0, 1);
        if (all.some((a, i) => from[i] < a._offset || from[i] > a._offset + a._length)) return;
        all.forEach((a, i) => { ranges[i].value = a.p2l(from[i] - a._offset); });
        event.preventDefault();
        moved();
      };
      seen.addEventListener("pointerdown", (event) => {
        held = state === "asking";
        if (held) put(event);
      }, true);
      seen.addEventListener("pointermove", (event) => { if (held && state === "asking") put(event); });
      window.addEventListener("pointerup", () => { held = false; });
    };
    // ---------------------------------------------------------------- the line above the stage
    const moved = () => {
      ranges.forEach((range) => range.setAttribute("aria-valuetext", number(Number(range.value))));
      now.textContent = ranges.map((range) => number(Number(range.value))).join(", ");
      place();
    };
    const ask = () => {
      // beside the deck at first, where no answer lies
      const all = axes(), names = two() ? ["along", "across"] : ["your guess"];
      ranges = all.map((axis, i) => {
        const range = document.createElement("input");
        const [low, high] = axis.range;
        Object.assign(range, { type: "range", min: two() ? low : Math.max(low, 0), max: high,
          step: (high - low) / 200, value: two() && !i ? low : (low + high) / 2 });
        range.setAttribute("aria-label", `${names[i]}, ${model.get("unit")}`);
        range.oninput = moved;
        return range;
      });
      inputs.replaceChildren(...ranges.flatMap((range, i) => (two() ? [names[i], range] : [range])), now);
      moved();
    };
    const turn = (to) => {
      state = to;
      el.hidden = to === "done";
      panel()?.classList.toggle("sk-guessing", to === "asking");
      panel()?.classList.toggle("sk-guessed", to === "shown");
      inputs.hidden = show.hidden = to !== "asking";
      skip.textContent = to === "asking" ? "Skip" : "Go on";
      told.textContent = "";
      asked.textContent = model.get("question");
      if (to === "asking") ask();
      drawn();
    };
    const result = () => {
      const is = answer(), said = ranges.map((range) => Number(range.value));
      if (two()) {
        const off = Math.hypot(said[0] - is[0], said[1] - is[1]);
        return `You are ${number(off)} away from it.`;
      }
      const off = shown(said[0]) - shown(is[0]), [low, high] = axes()[0].range;
      const unit = model.get("unit").replace("%", "percentage points");
      const far = Math.abs(off) < 0.03 * (high - low) ? "well judged"
        : `${number(Math.abs(off), unit)} too ${off > 0 ? "high" : "low"}`;
      return `You said ${number(said[0])}; it is ${number(is[0])}: ${far}.`;
    };
    show.onclick = () => {
      turn("shown");
      told.textContent = `${result()} ${model.get("why")}`.trim();
      skip.focus({ preventScroll: true });
    };
    skip.onclick = () => {
      model.set("asking", false);
      model.save_changes();
      // who works by keyboard goes on with the sliders: a focus that is hidden is lost to the notebook
      if (el.contains(document.activeElement))
        panel().querySelector(".noUi-handle")?.focus({ preventScroll: true });
      turn("done");
    };
    const follow = () => {
      watch();
      if (!seen || !trace()) { if (model.get("asking")) setTimeout(follow, 200); return; }
      turn(model.get("asking") ? "asking" : "done");
    };
    // another engine or another unit: the chart has other axes a moment later
    const anew = () => { asked.textContent = model.get("question"); };
    model.on("change:asking", follow);
    model.on("change:question", anew);
    model.on("change:asked", () => setTimeout(() => { if (state === "asking") follow(); }, 300));
    el.hidden = true;
    follow();
    return () => mark.remove();
  }
};
