"""How the store's tables came to be, one step a file; a step that was once released is never changed."""
