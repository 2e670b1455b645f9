// What the browser does for a panel; see `live._Helper`.
export default {
  render({ model, el }) {
    el.style.width = "100%";
    const told = document.createElement("div");
    told.setAttribute("role", "status");
    told.setAttribute("aria-live", "polite");
    told.style.cssText = "position:absolute;width:1px;height:1px;overflow:hidden;" +
      "clip-path:inset(50%);white-space:nowrap";
    el.append(told);
    const say = () => { told.textContent = model.get("told"); };
    const panel = () => el.closest(".sealkit-panel");
    const handles = () => (panel() ? [...panel().querySelectorAll(".noUi-handle")] : []);
    const value = (handle, unit) => {
      const now = Number(handle.getAttribute("aria-valuetext"));
      const text = `${Number(now.toPrecision(5))} ${unit}`.trim();
      if (!isNaN(now) && handle.getAttribute("aria-valuetext") !== text)
        handle.setAttribute("aria-valuetext", text);
    };
    const moved = new MutationObserver((seen) => {
      const all = handles(), units = model.get("units");
      seen.forEach(({ target }) => value(target, units[all.indexOf(target)] ?? ""));
    });
    const name = () => {
      handles().forEach((handle, i) => {
        handle.setAttribute("aria-label", model.get("names")[i] ?? "");
        value(handle, model.get("units")[i] ?? "");
        moved.observe(handle, { attributeFilter: ["aria-valuetext"] });
      });
      const plays = panel() ? panel().querySelectorAll(".widget-play button") : [];
      ["Play or pause", "Stop"].forEach((text, i) => {
        if (plays[i]) plays[i].setAttribute("aria-label", text);
      });
      el.closest(".jp-OutputArea, .output_area, body").querySelectorAll(".sealkit-asleep")
        .forEach((line) => { line.style.display = "none"; });
    };
    // sliders made anew stand unnamed in the page whenever the browser gets to them
    const come = new MutationObserver(() => {
      if (handles().some((handle) => !handle.hasAttribute("aria-label"))) name();
    });
    // a new height makes plotly hold on to the width it has
    const fit = () => {
      const plot = panel()?.querySelector(".js-plotly-plot");
      if (plot?.layout) delete plot.layout.width;
      window.dispatchEvent(new Event("resize"));
    };
    // a layout that comes late brings the old width back
    const always = setInterval(() => {
      const plot = panel()?.querySelector(".js-plotly-plot");
      if (plot?.clientWidth && Math.abs(plot._fullLayout?.width - plot.clientWidth) > 1) fit();
    }, 500);
    let width = -1;
    const watch = new ResizeObserver(() => {
      name();
      if (el.clientWidth > 0 && el.clientWidth !== width) {
        width = el.clientWidth;
        const narrow = panel()?.clientWidth < 760;
        if (narrow !== model.get("narrow")) { model.set("narrow", narrow); model.save_changes(); }
        fit();
      }
    });
    watch.observe(el);
    // a notebook reads single keys as commands on its cells; those of a control are its own
    const own = (event) => !(event.ctrlKey || event.metaKey || event.altKey);
    const before = (event) => {
      if (panel()?.contains(event.target))
        event.target.toggleAttribute("data-lm-suppress-shortcuts", own(event));
    };
    window.addEventListener("keydown", before, true);
    const after = (event) => { if (own(event)) event.stopPropagation(); };
    let stopped = null;
    // new sliders take a moment to be there
    const later = () => [50, 300, 1500].forEach((wait) => setTimeout(() => {
      if (!stopped && panel()) {
        stopped = panel();
        stopped.addEventListener("keydown", after);
        come.observe(stopped.querySelector(".sk-side"), { childList: true, subtree: true });
      }
      name();
      fit();
    }, wait));
    // what a button opened goes to the top, once it is there
    const looked = {};
    const look = (name, left = 15) => setTimeout(() => {
      const found = panel()?.querySelector(`.${name} .widget-html-content > *`);
      if (left && (!found || found === looked[name])) return look(name, left - 1);
      looked[name] = found;
      found?.closest(".widget-html").scrollIntoView({ block: "start", behavior: "smooth" });
    }, 100);
    const asked = (name) => { look(name); };
    model.on("change:made", later);
    model.on("change:told", say);
    model.on("msg:custom", asked);
    say();
    later();
    return () => {
      clearInterval(always);
      watch.disconnect();
      moved.disconnect();
      come.disconnect();
      window.removeEventListener("keydown", before, true);
      stopped?.removeEventListener("keydown", after);
      model.off("change:made", later);
      model.off("change:told", say);
      model.off("msg:custom", asked);
    };
  }
};
