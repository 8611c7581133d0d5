"""The JSON API. `api.http.app.create_app` puts it together."""
