"""A picture that tells where it was clicked, in pixels of the picture itself.

The widgets of ipywidgets do not tell this; anywidget carries the few lines of the browser's side.
"""

from typing import Any

import anywidget
import traitlets

BROWSER_SIDE = """
function render({ model, el }) {
  const image = document.createElement("img");
  image.style.maxWidth = "100%";
  image.style.cursor = "crosshair";
  image.setAttribute("alt", "a frame of the film");
  const show = () => {
    const bytes = model.get("png");
    const old = image.src;
    image.src = URL.createObjectURL(new Blob([bytes], { type: "image/png" }));
    if (old) URL.revokeObjectURL(old);
  };
  image.addEventListener("click", (event) => {
    const box = image.getBoundingClientRect();
    const right = ((event.clientX - box.left) * image.naturalWidth) / box.width;
    const down = ((event.clientY - box.top) * image.naturalHeight) / box.height;
    model.set("clicked", [right, down, (model.get("clicked")[2] || 0) + 1]);
    model.save_changes();
  });
  model.on("change:png", show);
  show();
  el.appendChild(image);
}
export default { render };
"""


class ClickablePicture(anywidget.AnyWidget):
    """A picture whose trait `clicked` holds right, down (pixels of the picture) and the number of clicks so far."""

    _esm = BROWSER_SIDE
    png = traitlets.Bytes(b"").tag(sync=True)
    clicked = traitlets.List(traitlets.Float(), default_value=[0.0, 0.0, 0.0]).tag(sync=True)

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
