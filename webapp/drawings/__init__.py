"""From the model to what a drawing shows: display lists that screen and paper share."""
