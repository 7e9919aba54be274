"""What browsers show: sheets to print, the page to try the service, the document and the problems as pages."""
