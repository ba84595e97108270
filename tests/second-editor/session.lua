-- A person at work in another editor: opens a design, waits for its findings, reads a hover, asks for a list, lenses and the way of power,
-- takes a change, saves. Writes what it saw as one line of JSON. Called by neovim.test.ts.
local server, file, answer = vim.env.WATTWRIGHT_SERVER, vim.env.WATTWRIGHT_FILE, vim.env.WATTWRIGHT_ANSWER
local seen = {}

local function finish(fault)
  if fault then seen.fault = tostring(fault) end
  vim.fn.writefile({ vim.fn.json_encode(seen) }, answer)
  vim.cmd(fault and 'cquit! 1' or 'qall!')
end

local function until_true(what, condition)
  if not vim.wait(240000, condition, 20) then error(what .. ' did not come') end
end

local ok, fault = pcall(function()
  vim.cmd('edit ' .. vim.fn.fnameescape(file))
  local buffer = vim.api.nvim_get_current_buf()
  local id = vim.lsp.start_client({
    name = 'wattwright',
    cmd = { vim.env.WATTWRIGHT_NODE, server, '--stdio' },
    root_dir = vim.fn.fnamemodify(file, ':h'),
    workspace_folders = { { uri = vim.uri_from_fname(vim.fn.fnamemodify(file, ':h')), name = 'workspace' } },
    get_language_id = function() return 'wattwright' end,
  })
  until_true('the start', function()
    local client = vim.lsp.get_client_by_id(id)
    return client and client.initialized
  end)
  vim.lsp.buf_attach_client(buffer, id)
  until_true('findings', function() return #vim.diagnostic.get(buffer) > 0 end)
  seen.findings = {}
  for _, each in ipairs(vim.diagnostic.get(buffer)) do
    table.insert(seen.findings, { code = each.code, line = each.lnum, message = each.message })
  end
  seen.encoding = vim.lsp.get_client_by_id(id).offset_encoding

  local function ask(method, params)
    local answers, why = vim.lsp.buf_request_sync(buffer, method, params, 240000)
    if not answers then error(method .. ': ' .. tostring(why)) end
    for _, each in pairs(answers) do
      if each.error then error(method .. ': ' .. vim.inspect(each.error)) end
      return each.result
    end
  end
  local document = { uri = vim.uri_from_bufnr(buffer) }
  local function at(pattern, behind)
    for number, line in ipairs(vim.api.nvim_buf_get_lines(buffer, 0, -1, false)) do
      local from, to = line:find(pattern)
      if from then return { line = number - 1, character = (behind and to or from - 1) } end
    end
    error('there is no ' .. pattern)
  end

  seen.hover = ask('textDocument/hover', { textDocument = document, position = at('Feed:') }).contents.value
  local list = ask('textDocument/completion', { textDocument = document, position = at('rating: ', true) })
  seen.list = {}
  for _, item in ipairs(list.items) do table.insert(seen.list, item.label) end
  local items = ask('textDocument/prepareCallHierarchy', { textDocument = document, position = at('DcBus {') })
  seen.feeds = {}
  for _, call in ipairs(ask('callHierarchy/outgoingCalls', { item = items[1] })) do table.insert(seen.feeds, call.to.name) end
  seen.lenses = {}
  for _, lens in ipairs(ask('textDocument/codeLens', { textDocument = document })) do
    table.insert(seen.lenses, ask('codeLens/resolve', lens).command.title)
  end

  -- The first change offered for the thin conductor.
  local finding
  for _, each in ipairs(vim.diagnostic.get(buffer)) do
    if each.code == 'run-ampacity' then finding = each.user_data.lsp end
  end
  if not finding then error('the thin conductor is not found') end
  local place = at('14 AWG')
  local function changes()
    return ask('textDocument/codeAction', {
      textDocument = document,
      range = { start = place, ['end'] = place },
      context = {
        diagnostics = { {
          range = { start = at('14 AWG'), ['end'] = at('14 AWG', true) },
          code = finding.code,
          message = 'from here',
          data = finding.data,
        } },
        only = { 'quickfix' },
      },
    })
  end
  -- What could not be tried in one go is gone on with when it is asked for again.
  local actions = changes()
  for _ = 1, 20 do
    if actions[1] and actions[1].title:find('AWG') then break end
    actions = changes()
  end
  seen.actions = {}
  for _, action in ipairs(actions) do table.insert(seen.actions, action.title) end
  vim.lsp.util.apply_workspace_edit(actions[1].edit, seen.encoding)
  until_true('findings of the mended text', function()
    for _, each in ipairs(vim.diagnostic.get(buffer)) do
      if each.code == 'run-ampacity' then return false end
    end
    return true
  end)
  vim.lsp.buf.formatting_sync({}, 240000)
  vim.cmd('write')
  vim.lsp.stop_client(id)
  until_true('the end of the server', function() return vim.lsp.get_client_by_id(id) == nil end)
end)
finish(not ok and fault or nil)
