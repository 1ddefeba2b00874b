// The report: one model for good, and a picture of it for printing.

const stage = new Stage();
stage.listen();
stage.take(JSON.parse(byId("model-data").textContent));

// A canvas prints black or not at all; its picture is printed instead.
function snap() {
  if (!stage.model) return;
  stage.paintWhole();
  byId("picture").src = stage.canvas.toDataURL("image/png");
}

window.addEventListener("beforeprint", snap);
snap();
