// The charts. A widget whose script is not there within two seconds loses all that is sent to it,
// and the script of the charts is large: so it comes behind a small one, once for all panels.
const load = async (text) => {
  const url = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
  try { return await import(url); } finally { URL.revokeObjectURL(url); }
};
export default {
  async render({ model, el }) {
    const text = model.get("script"), kept = `sealkit-charts-${text.length}`;
    const { default: make } = await (window[kept] ??= load(text));
    const figure = make();
    figure.initialize({ model });
    const gone = figure.render({ el });
    model.set("drawn", model.get("drawn") + 1);
    model.save_changes();
    return gone;
  }
};
