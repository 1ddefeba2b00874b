"""The local web page on which a fitter works with a customer: see `rigmodel.page.serve`."""
