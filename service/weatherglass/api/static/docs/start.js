// Starts the documentation. No validator and no other address is asked.
window.onload = () => {
  window.ui = SwaggerUIBundle({
    url: "/openapi.json",
    dom_id: "#page",
    validatorUrl: null,
    queryConfigEnabled: false,
    deepLinking: false,
    presets: [SwaggerUIBundle.presets.apis],
    layout: "BaseLayout",
  });
};
