// The build sheet as a form, its text below; see `form.Form`.
const made = (tag, given = {}, ...inside) => {
  const one = Object.assign(document.createElement(tag), given);
  one.append(...inside);
  return one;
};
let forms = 0;

export default {
  render({ model, el }) {
    const own = `sk-form-${++forms}`;
    const about = made("div", { className: "sk-wrong" }), groups = made("div");
    const text = made("textarea", { rows: 14, spellcheck: false, id: `${own}-text` });
    const sheet = made("details", {}, made("summary", { textContent: "The sheet behind it, as text" }),
      made("label", { htmlFor: text.id, textContent: "Build sheet" }), text);
    el.classList.add("sk-form");
    el.append(about, groups, sheet);
    text.addEventListener("change", () => {
      model.set("text", text.value);
      model.save_changes();
    });
    let fields = {};
    const field = ({ path, words, help, choices, known }) => {
      const id = `${own}-${path}`, wrong = made("div", { className: "sk-wrong", id: `${id}-wrong` });
      const input = made(choices.length ? "select" : "input", { id, spellcheck: false });
      for (const choice of choices.length ? ["", ...choices] : []) input.append(new Option(choice));
      const list = made("datalist", { id: `${id}-known` }, ...known.map((one) => new Option(one)));
      if (known.length) input.setAttribute("list", list.id);
      input.setAttribute("aria-describedby", `${id}-help ${wrong.id}`);
      input.addEventListener("change", () => model.send({ path, entry: input.value }));
      fields[path] = { input, wrong };
      return made("div", { className: "sk-field" }, made("label", { htmlFor: id, textContent: words }),
        input, list, wrong, made("small", { id: `${id}-help`, textContent: help }));
    };
    const build = () => {
      fields = {};
      groups.replaceChildren(...model.get("groups").map((group, place) => {
        const part = (first) => group.fields.filter((one) => one.first === first).map(field);
        const [first, rest] = [part(true), part(false)];
        const more = made("details", { className: "sk-more" }, made("summary", { textContent: "More" }),
          made("div", { className: "sk-fields" }, ...rest));
        return made("details", { open: place === 1 }, made("summary", { textContent: group.title }),
          made("div", { className: "sk-fields" }, ...first), ...(rest.length ? [more] : []));
      }));
      show();
      tell();
    };
    const show = () => {
      if (text !== document.activeElement || !model.get("broken")) text.value = model.get("text");
      for (const [path, { input }] of Object.entries(fields)) {
        const value = model.get("values")[path] ?? "";
        if (input.options && ![...input.options].some((one) => one.value === value))
          input.append(new Option(value));
        input.value = value;
        input.disabled = model.get("broken");
      }
    };
    // a fault is spoken as it appears; one that stays is left alone
    const say = (where, lines) => {
      if ([...where.children].map((one) => one.textContent).join("\n") === lines.join("\n")) return;
      where.replaceChildren(...lines.map((line) => {
        const told = made("p", { textContent: line });
        told.setAttribute("role", "alert");
        return told;
      }));
    };
    const tell = () => {
      const faults = model.get("faults");
      say(about, faults[""] ?? []);
      if (model.get("broken")) sheet.open = true;
      for (const [path, { input, wrong }] of Object.entries(fields)) {
        say(wrong, faults[path] ?? []);
        input.setAttribute("aria-invalid", path in faults);
        for (let at = input; path in faults && at !== el; at = at.parentElement)
          if (at.tagName === "DETAILS") at.open = true;
      }
      for (const group of groups.children)
        group.classList.toggle("sk-bad", group.querySelector("[aria-invalid=true]") !== null);
    };
    model.on("change:groups", build);
    model.on("change:text change:values change:broken", show);
    model.on("change:faults change:broken", tell);
    build();
    return () => {
      model.off("change:groups", build);
      model.off("change:text change:values change:broken", show);
      model.off("change:faults change:broken", tell);
    };
  }
};
