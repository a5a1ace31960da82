-- A session in Neovim without a screen: opens a procedure with a mistake, sees the finding, applies its fix, renames a
-- part, and saves. Ends with an error status and a message if anything is not as expected.
-- The sources folder and the set-up are in the environment: SHOP, SETUP.

local shop = vim.env.SHOP
local path = shop .. '/fuel/float-bowl.md'

local function fail(message)
  io.stderr:write(message .. '\n')
  vim.cmd('cquit 1')
end

local function wait(what, is_reached)
  if not vim.wait(60000, is_reached, 50) then
    fail('not reached: ' .. what .. '\n' .. vim.inspect(vim.diagnostic.get(nil)))
  end
end

-- The choice that a user would make in a menu.
vim.ui.select = function(items, _, choose)
  choose(items[1], 1)
end

-- What docs/editors.md says to put here.
dofile(vim.env.SETUP)

local function session()
  vim.o.hidden = true
  vim.o.swapfile = false
  vim.cmd('edit ' .. path)
  local buffer = vim.api.nvim_get_current_buf()
  local function finding()
    return vim.diagnostic.get(buffer)[1]
  end
  wait('the finding', function()
    return finding() ~= nil
  end)
  if finding().code ~= 'unknown-thing' then
    fail('another finding: ' .. vim.inspect(finding()))
  end

  vim.api.nvim_win_set_cursor(0, { finding().lnum + 1, finding().col })
  vim.lsp.buf.code_action()
  wait('the fix', function()
    return finding() == nil
  end)

  -- A part is renamed in the procedure and in the files of its machines.
  local line = vim.fn.search('remove:bowl-nut')
  if line == 0 then
    fail('the fix did not bring the name back')
  end
  vim.fn.search('bowl-nut', 'c')
  vim.lsp.buf.rename('float-bowl-nut')
  wait('the new name', function()
    return vim.fn.search('remove:float-bowl-nut', 'nw') ~= 0
  end)
  wait('no finding after the new name', function()
    return #vim.diagnostic.get(nil) == 0
  end)
  vim.cmd('wall')
  vim.cmd('qall!')
end

vim.api.nvim_create_autocmd('VimEnter', {
  -- The commands of the session cause events of their own.
  nested = true,
  callback = function()
    local is_done, message = pcall(session)
    if not is_done then
      fail(message)
    end
  end,
})
