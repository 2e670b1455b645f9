// The charts. A widget whose script is not there within two seconds loses all that is sent to it,
// so theirs comes behind a small one, once for all panels; and the library they are drawn with is
// large, so it is the page's own where that has it: JupyterLab with plotly's extension.
const MIME = "application/vnd.plotly.v1+json";
const brought = async (version) => {
  if (window.Plotly?.version !== version) try {
    // the extension makes its library with the first chart it draws: an empty one, never shown
    const { rendererFactory } = (await window._JUPYTERLAB["jupyterlab-plotly"].get("./mimeExtension"))();
    const empty = { data: { [MIME]: { data: [], layout: {} } }, setData() {} };
    await rendererFactory.createRenderer({ mimeType: MIME }).renderModel(empty);
  } catch { /* an app without the extension */ }
  return window.Plotly?.version === version;
};
const load = async (model) => {
  const library = model.get("library");
  if (library && !model.get("whole") && !await brought(library))
    await new Promise((come) => {
      model.on("change:script", come);
      model.set("whole", true);
      model.save_changes();
    });
  const url = URL.createObjectURL(new Blob([model.get("script")], { type: "text/javascript" }));
  try { return await import(url); } finally { URL.revokeObjectURL(url); }
};
export default {
  async render({ model, el }) {
    const kept = `sealkit-charts-${model.get("library")}`;
    const { default: make } = await (window[kept] ??= load(model));
    const figure = make();
    figure.initialize({ model });
    const gone = figure.render({ el });
    model.set("drawn", model.get("drawn") + 1);
    model.save_changes();
    return gone;
  }
};
